"""Batches: started, changed, moved to another programme; how many are alive and where."""

from __future__ import annotations

from typing import Any, Literal

from django.db.models import QuerySet
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text, absent
from api.models import Scope
from farm.models import Batch
from farm.models.batch import BatchSource, Sex
from farm.models.member import Role
from farm.queries import batches as read
from farm.queries import lookup
from farm.services import batches

router = Router(tags=["Batches"])


class Place(Schema):
    """Birds of a batch in one housing today, or on its first day when it is still to come."""

    housing_id: int
    housing: str
    birds: int


class BatchOut(Schema):
    """Birds of one hatch day and type. What is counted is as of the farm's today."""

    id: int
    version: int
    name: str
    species: str
    type: str
    breed: str
    sex: Sex
    source: BatchSource
    hatch_day: Day = Field(description="Age is counted from here; hatch day is day 0.")
    arrived_on: Day
    leaves_on: Day | None
    programme_version_id: int
    expected: bool = Field(description="Of an egg set or intake that has not hatched or arrived.")
    state: Literal["current", "expected", "gone"]
    age_days: int = Field(description="Whole days since hatch; below 0 before it.")
    alive: int = Field(description="Birds today; of an expected batch those hoped for.")
    places: list[Place]
    unhoused: int = Field(description="Birds that are in no housing.")
    gone_on: Day | None
    notes: str


class NewBatch(In):
    """A batch to start. Its first count entry is made with it, and its first stay when a housing is named."""

    name: Text
    programme: Text = Field(description="Key of a built-in programme, or the number of one of the farm's.")
    hatch_day: Day
    birds: int = Field(ge=1, le=5000)
    arrived_on: Day | None = Field(None, description="The hatch day, when left out.")
    leaves_on: Day | None = None
    breed: Text = ""
    sex: Sex = Sex.STRAIGHT_RUN
    source: BatchSource = BatchSource.INTAKE
    housing_id: Id | None = None
    housing_until: Day | None = None
    override_reason: Text = Field("", description="Why birds that need heat go where there is none.")
    notes: Text = ""


class BatchChange(In):
    """What is to be different; what is left out stays."""

    name: Text = absent()
    breed: Text = absent()
    sex: Sex = absent()
    source: BatchSource = absent()
    hatch_day: Day = absent(description="Moves every step that is not done.")
    arrived_on: Day = absent()
    leaves_on: Day | None = None
    notes: Text = absent()


class ProgrammeChoice(In):
    """Which version of a programme of its species the batch follows from now on."""

    version_id: Id


class Wanted(pages.Wide):
    """Which batches."""

    state: Literal["current", "expected", "gone"] | None = Field(None, description="As of the farm's today.")
    species: Text | None = None
    type: Text | None = None
    name: Text | None = Field(None, description="Part of the name, whatever its case.")
    hatched_from: Day | None = None
    hatched_before: Day | None = None
    order: Literal["id", "-id", "hatch_day", "-hatch_day", "name", "-name"] = "hatch_day"


BatchFields = pages.fewer(BatchOut)


@router.get("/", response=Page[BatchFields], exclude_unset=True)  # type: ignore[valid-type]
@needs(Role.CHILD, Scope.READ)
def list_batches(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the farm's batches."""
    caller = request.caller
    rows = _filtered(read.rows(caller.farm), query)
    if query.state is not None:
        rows = rows.filter(pk__in=read.in_state(caller.farm, query.state, caller.by.today))
    page = pages.of(rows, query, lambda batch: shape(request, batch), order=query.order)
    return pages.only(page, BatchOut, query.fields)


@router.post("/", response={201: BatchOut})
@needs(Role.KEEPER, Scope.WRITE)
def start_batch(request: ApiRequest, new: NewBatch) -> Status:
    """Start a batch."""
    batch = batches.start(request.caller.by, new=batches.NewBatch(**new.dict()))
    request.location = f"{request.path}{batch.pk}/"
    return Status(201, _whole(request, batch.pk))


@router.get("/{batch_id}/", response=BatchOut)
@needs(Role.CHILD, Scope.READ)
def get_batch(request: ApiRequest, batch_id: Id) -> dict[str, Any]:
    """Return one batch."""
    return _whole(request, batch_id)


@router.patch("/{batch_id}/", response=BatchOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_batch(request: ApiRequest, batch_id: Id, change: BatchChange) -> dict[str, Any]:
    """Change a batch's words and days."""
    version = versions.expected(request)
    batches.change(request.caller.by, batch_id=batch_id, expected_version=version, **change.given())
    return _whole(request, batch_id)


@router.put("/{batch_id}/programme/", response=BatchOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def choose_programme(request: ApiRequest, batch_id: Id, choice: ProgrammeChoice) -> dict[str, Any]:
    """Have a batch follow another version of a programme of its species."""
    version = versions.expected(request)
    batches.use_programme(
        request.caller.by, batch_id=batch_id, version_id=choice.version_id, expected_version=version
    )
    return _whole(request, batch_id)


def shape(request: ApiRequest, batch: Batch) -> dict[str, Any]:
    """Return a batch, its ledger and stays read along, as the API shows it."""
    today = request.caller.by.today
    now = read.summary(batch, today)
    own = (
        "version",
        "name",
        "species",
        "type",
        "breed",
        "sex",
        "source",
        "hatch_day",
        "arrived_on",
        "leaves_on",
    )
    return {
        name: getattr(batch, name) for name in ("id", *own, "programme_version_id", "expected", "notes")
    } | {
        "state": now.state,
        "age_days": (today - batch.hatch_day).days,
        "alive": now.tally.here,
        "places": [
            {"housing_id": place.housing.pk, "housing": place.housing.name, "birds": place.birds}
            for place in now.places
        ],
        "unhoused": now.unhoused,
        "gone_on": now.gone_on,
    }


def _whole(request: ApiRequest, batch_id: int) -> dict[str, Any]:
    farm = request.caller.farm
    lookup.get(Batch, farm_id=farm.pk, pk=batch_id)
    return shape(request, versions.show(request, read.whole(farm, batch_id)))


def _filtered(rows: QuerySet[Batch], query: Wanted) -> QuerySet[Batch]:
    asked = {
        "species": query.species,
        "type": query.type,
        "name__icontains": query.name,
        "hatch_day__gte": query.hatched_from,
        "hatch_day__lt": query.hatched_before,
    }
    return rows.filter(**{name: value for name, value in asked.items() if value is not None})
