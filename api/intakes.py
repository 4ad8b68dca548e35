"""Intakes: chicks expected from elsewhere, and received."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any, Literal

from django.db.models import QuerySet
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Instant, Text, absent
from api.models import Scope
from api.order_shapes import Programme, choice
from farm.husbandry import incubation
from farm.models import Intake
from farm.models.batch import Sex
from farm.models.intake import IntakeState, Way
from farm.models.member import Role
from farm.queries import lookup
from farm.services import intakes
from farm.services.counts import MOST_BIRDS

router = Router(tags=["Hatching"])

Chicks = Annotated[int, Field(ge=1, le=MOST_BIRDS)]
Some = Annotated[int, Field(ge=0, le=MOST_BIRDS)]


class IntakeOut(Schema):
    """Chicks from elsewhere, expected or received."""

    id: int
    version: int
    supplier_id: int | None
    from_whom: str
    programme: str
    species: str
    type: str
    breed: str
    sex: Sex
    ordered: int
    extras: int = Field(description="Given on top for losses on the way.")
    way: Way
    due_on: Day
    hatched_at: datetime | None
    feed_by: datetime | None = Field(
        description="They live on their yolk until then; null while the hatch is unknown."
    )
    state: IntakeState
    arrived_at: datetime | None
    alive: int | None
    dead: int | None = Field(description="Dead on arrival: never in a batch's ledger.")
    weak: int | None = Field(description="Among those alive.")
    batch_id: int | None = Field(description="The birds expected, then received.")
    batch: str
    planned_chicks: int | None = Field(
        description="Planned for while they are expected, less usual losses on the way."
    )
    notes: str


class NewIntake(In):
    """Chicks to expect."""

    programme: Programme
    ordered: Chicks
    due_on: Day
    supplier_id: Id | None = None
    from_whom: Text = Field("", max_length=80, description="The supplier's name, when left out.")
    extras: Some = 0
    name: Text = Field("", max_length=60, description="Of the batch; from whom and when, when left out.")
    breed: Text = Field("", max_length=60)
    sex: Sex = Sex.STRAIGHT_RUN
    way: Way = Way.POST
    hatched_at: Instant | None = Field(None, description="As long before they come as usual, when left out.")
    housing_id: Id | None = Field(None, description="Where they go.")
    notes: Text = Field("", max_length=2000)


class IntakeChange(In):
    """What is to be different; what is left out stays. Of one that is over only from whom, and the notes."""

    supplier_id: Id | None = None
    from_whom: Text = absent(min_length=1, max_length=80)
    ordered: Chicks = absent()
    extras: Some = absent()
    breed: Text = absent(max_length=60)
    sex: Sex = absent()
    way: Way = absent()
    due_on: Day = absent()
    hatched_at: Instant | None = None
    notes: Text = absent(max_length=2000)


class Arrival(In):
    """What came."""

    arrived_at: Instant
    alive: Some
    dead: Some = Field(0, description="Dead on arrival.")
    weak: Some = Field(0, description="Among those alive.")
    hatched_at: Instant | None = Field(None, description="As the box says; as known, when left out.")
    housing_id: Id | None = Field(None, description="Where they are; where they are planned, when left out.")
    version: int | None = Field(None, ge=1, le=2**31, description="Of the intake as you know it.")


class Arrived(Schema):
    """An arrival recorded. batch_id: the chicks; null when none came alive."""

    batch_id: int | None
    intake: IntakeOut


class Wanted(pages.Paging):
    """Which intakes."""

    state: IntakeState | None = None
    supplier_id: Id | None = None
    from_: Day | None = Field(None, alias="from", description="Due on this day or later …")
    to: Day | None = Field(None, description="… and before this one.")
    order: Literal["id", "-id", "due_on", "-due_on"] = "due_on"


@router.get("/", response=Page[IntakeOut])
@needs(Role.CHILD, Scope.READ)
def list_intakes(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the chicks that are expected and those that came, by day."""
    asked = {
        "state": query.state,
        "supplier_id": query.supplier_id,
        "due_on__gte": query.from_,
        "due_on__lt": query.to,
    }
    rows = _rows(request).filter(**{name: value for name, value in asked.items() if value is not None})
    return pages.of(rows, query, shape, order=query.order)


@router.post("/", response={201: IntakeOut})
@needs(Role.KEEPER, Scope.WRITE)
def expect_chicks(request: ApiRequest, new: NewIntake) -> Status:
    """Expect chicks; the batch they will be comes with them."""
    intake = intakes.expect(request.caller.by, new=intakes.NewIntake(**new.dict()))
    request.location = f"{request.path}{intake.pk}/"
    return Status(201, _whole(request, intake.pk))


@router.get("/{intake_id}/", response=IntakeOut)
@needs(Role.CHILD, Scope.READ)
def get_intake(request: ApiRequest, intake_id: Id) -> dict[str, Any]:
    """Return one intake."""
    return _whole(request, intake_id)


@router.patch("/{intake_id}/", response=IntakeOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_intake(request: ApiRequest, intake_id: Id, change: IntakeChange) -> dict[str, Any]:
    """Change an intake, for example to a later day; its batch and stays that are not fixed follow."""
    version = versions.expected(request)
    intakes.change(request.caller.by, intake_id=intake_id, expected_version=version, **change.given())
    return _whole(request, intake_id)


@router.delete("/{intake_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def cancel_intake(request: ApiRequest, intake_id: Id) -> Status:
    """Cancel an intake still expected: it stays in the records, and the batch expected of it goes."""
    version = versions.expected(request)
    intakes.cancel(request.caller.by, intake_id=intake_id, expected_version=version)
    return Status(204, None)


@router.post("/{intake_id}/arrive/", response=Arrived)
@needs(Role.HELPER, Scope.RECORD)
def record_arrival(request: ApiRequest, intake_id: Id, arrival: Arrival) -> dict[str, Any]:
    """Record what came: the chicks are a batch from then on."""
    batch = intakes.arrive(
        request.caller.by,
        intake_id=intake_id,
        expected_version=arrival.version,
        **arrival.dict(exclude={"version"}),
    )
    return {"batch_id": None if batch is None else batch.pk, "intake": _whole(request, intake_id)}


def shape(intake: Intake) -> dict[str, Any]:
    """Return an intake, its programme and batch with the ledger read along."""
    own = (
        "id",
        "version",
        "supplier_id",
        "from_whom",
        "species",
        "type",
        "breed",
        "sex",
        "ordered",
        "extras",
    )
    more = (
        "way",
        "due_on",
        "hatched_at",
        "state",
        "arrived_at",
        "alive",
        "dead",
        "weak",
        "batch_id",
        "notes",
    )
    batch, hatched_at = intake.batch, intake.hatched_at
    planned = batch is not None and intake.state == IntakeState.EXPECTED
    return {name: getattr(intake, name) for name in (*own, *more)} | {
        "programme": choice(intake.programme_version.programme),
        "feed_by": None if hatched_at is None else incubation.latest_feed(hatched_at),
        "batch": batch.name if batch else "",
        "planned_chicks": sum(line.birds for line in batch.count_entries.all())
        if batch and planned
        else None,
    }


def _rows(request: ApiRequest) -> QuerySet[Intake]:
    rows = Intake.objects.filter(farm=request.caller.farm)
    return rows.select_related("programme_version__programme", "batch").prefetch_related(
        "batch__count_entries"
    )


def _whole(request: ApiRequest, intake_id: int) -> dict[str, Any]:
    lookup.get(Intake, farm_id=request.caller.farm.pk, pk=intake_id)
    return shape(versions.show(request, _rows(request).get(pk=intake_id)))
