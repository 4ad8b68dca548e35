"""Egg sets: eggs set, candled and hatched."""

from __future__ import annotations

from datetime import date, datetime
from typing import Annotated, Any

from django.utils.translation import gettext as _
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api import egg_set_shapes as shapes
from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Instant, Text, absent
from api.egg_set_shapes import EggEntryOut, EggSetOut
from api.models import Scope
from api.order_shapes import Programme
from farm.errors import BadInput
from farm.models import EggEntry, EggSet
from farm.models.egg_set import EggSetState
from farm.models.member import Role
from farm.planning.window import Window
from farm.queries import hatching, lookup
from farm.services import egg_entries, egg_sets, hatches, offline
from farm.services.actor import local_day
from farm.services.egg_set_rules import MOST_EGGS

router = Router(tags=["Hatching"])

Eggs = Annotated[int, Field(ge=1, le=MOST_EGGS)]
Found = Annotated[int, Field(ge=0, le=MOST_EGGS)]
Stored = Annotated[int, Field(ge=0, le=35)]
_LONG = "Why eggs stored too long are set all the same."


class NewEggSet(In):
    """Eggs to set, today or on a day to come."""

    programme: Programme
    eggs: Eggs
    set_on: Day
    setter_id: Id = Field(description="The incubator or setter.")
    hatcher_id: Id | None = Field(None, description="Where they hatch; where they are set, when left out.")
    name: Text = Field("", max_length=60, description="The next free E1, E2 …, when left out.")
    set_at: Instant | None = Field(None, description="On the same day; noon, when left out.")
    stored_days: Stored = 0
    storage: Text = Field("", max_length=100)
    storage_reason: Text = Field("", max_length=100, description=_LONG)
    origin: Text = Field("", max_length=100)
    breed: Text = Field("", max_length=60)
    housing_id: Id | None = Field(None, description="Where the chicks go.")
    notes: Text = Field("", max_length=2000)


class EggSetChange(In):
    """What is to be different; what is left out stays. Of one that is over only words can be changed."""

    name: Text = absent(min_length=1, max_length=60)
    eggs: Eggs = absent()
    set_on: Day = absent()
    set_at: Instant = absent()
    setter_id: Id = absent()
    hatcher_id: Id = absent()
    stored_days: Stored = absent()
    storage: Text = absent(max_length=200)
    storage_reason: Text = absent(max_length=100, description=_LONG)
    origin: Text = absent(max_length=100)
    breed: Text = absent(max_length=60)
    notes: Text = absent(max_length=2000)


class Candling(In):
    """What candling showed, or eggs opened after the hatch."""

    day: Day
    clear: Found = Field(0, description="No germ.")
    early_dead: Found = Field(0, description="Blood ring.")
    quitter: Found = Field(0, description="Died later.")
    broken: Found = Field(0, description="Broken or taken out.")
    key: Text = Field(
        "", max_length=offline.MOST_KEY, description="The program's own; sent again, it is recorded once."
    )


class Hatch(In):
    """How a set hatched."""

    day: Day = Field(description="Age counts from here.")
    hatched: Found = Field(description="With those put down at once; 0 when none did.")
    culled: Found = Field(0, description="Of them put down at once.")
    pipped: Found = Field(0, description="Pipped, not out.")
    quitters: Found = Field(0, description="Died in the shell.")
    clear: Found = Field(0, description="Clear, found only now.")
    housing_id: Id | None = Field(
        None, description="Where the chicks are; where they are planned, when left out."
    )
    version: int | None = Field(None, ge=1, le=2**31, description="Of the egg set as you know it.")


class Hatched(Schema):
    """A hatch recorded. batch_id: the chicks; null when nothing hatched."""

    batch_id: int | None
    egg_set: EggSetOut


class Wanted(pages.Wide):
    """Which egg sets."""

    state: EggSetState | None = None
    machine_id: Id | None = Field(None, description="They are set or hatch in it.")
    from_: Day | None = Field(None, alias="from", description="Set on this day or later …")
    to: Day | None = Field(None, description="… and before this one.")


EggSetFields = pages.fewer(EggSetOut)


@router.get("/", response=Page[EggSetFields], exclude_unset=True)  # type: ignore[valid-type]
@needs(Role.CHILD, Scope.READ)
def list_egg_sets(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the farm's egg sets by the day they are set."""
    farm, today = request.caller.farm, request.caller.by.today
    rows = [
        row for row in hatching.for_farm(farm, Window(today, 1), today).sets if _wanted(row.egg_set, query)
    ]
    page = pages.of_list(rows, query)
    page["items"] = [shapes.egg_set(row, farm.units) for row in page["items"]]
    return pages.only(page, EggSetOut, query.fields)


@router.post("/", response={201: EggSetOut})
@needs(Role.KEEPER, Scope.WRITE)
def set_eggs(request: ApiRequest, new: NewEggSet) -> Status:
    """Plan or record an egg set; the batch expected of it comes with it."""
    _same_day(request, new.set_at, new.set_on)
    egg_set = egg_sets.set_eggs(request.caller.by, new=egg_sets.NewEggSet(**new.dict()))
    request.location = f"{request.path}{egg_set.pk}/"
    return Status(201, _whole(request, egg_set.pk))


@router.get("/{egg_set_id}/", response=EggSetOut)
@needs(Role.CHILD, Scope.READ)
def get_egg_set(request: ApiRequest, egg_set_id: Id) -> dict[str, Any]:
    """Return one egg set."""
    return _whole(request, egg_set_id)


@router.patch("/{egg_set_id}/", response=EggSetOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_egg_set(request: ApiRequest, egg_set_id: Id, change: EggSetChange) -> dict[str, Any]:
    """Change an egg set, for example its day or its machines; what is expected of it follows."""
    version, given = versions.expected(request), change.given()
    _same_day(request, given.get("set_at"), given.get("set_on"))
    egg_sets.change(request.caller.by, egg_set_id=egg_set_id, expected_version=version, **given)
    return _whole(request, egg_set_id)


@router.delete("/{egg_set_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def cancel_egg_set(request: ApiRequest, egg_set_id: Id) -> Status:
    """Cancel an open egg set: it stays in the records, and the batch expected of it goes."""
    version = versions.expected(request)
    egg_sets.cancel(request.caller.by, egg_set_id=egg_set_id, expected_version=version)
    return Status(204, None)


@router.get("/{egg_set_id}/entries/", response=Page[EggEntryOut])
@needs(Role.CHILD, Scope.READ)
def list_egg_entries(request: ApiRequest, egg_set_id: Id, query: Query[pages.Paging]) -> dict[str, Any]:
    """List what candling and the hatch showed, in the order it was written down."""
    farm = request.caller.farm
    lookup.get(EggSet, farm_id=farm.pk, pk=egg_set_id)
    rows = EggEntry.objects.filter(farm=farm, egg_set_id=egg_set_id).select_related("member")
    return pages.of(rows, query, shapes.entry)


@router.post("/{egg_set_id}/candle/", response=EggSetOut)
@needs(Role.HELPER, Scope.RECORD)
def candle_eggs(request: ApiRequest, egg_set_id: Id, shown: Candling) -> dict[str, Any]:
    """Record what candling showed; what is expected of the set follows."""
    caller = request.caller
    egg_entries.record(
        caller.by,
        egg_set_id=egg_set_id,
        counts=shown.dict(include={"clear", "early_dead", "quitter", "broken"}),
        day=shown.day,
        client_key=_short_key(request, shown.key),
    )
    return _whole(request, egg_set_id)


@router.post("/{egg_set_id}/hatch/", response=Hatched)
@needs(Role.HELPER, Scope.RECORD)
def record_hatch(request: ApiRequest, egg_set_id: Id, hatch: Hatch) -> dict[str, Any]:
    """Record how an egg set hatched: the chicks are a batch from then on."""
    batch = hatches.record(
        request.caller.by,
        egg_set_id=egg_set_id,
        expected_version=hatch.version,
        **hatch.dict(exclude={"version"}),
    )
    return {"batch_id": None if batch is None else batch.pk, "egg_set": _whole(request, egg_set_id)}


def _whole(request: ApiRequest, egg_set_id: int) -> dict[str, Any]:
    caller = request.caller
    found = lookup.get(EggSet, farm_id=caller.farm.pk, pk=egg_set_id)
    versions.show(request, found)
    return shapes.egg_set(hatching.row(found, caller.by.today), caller.farm.units)


def _same_day(request: ApiRequest, at: datetime | None, on: date | None) -> None:
    """Raise BadInput for an instant of another day."""
    if at is not None and on is not None and local_day(request.caller.farm, at) != on:
        raise BadInput.at("set_at", _("This is not on the day they are set."))


def _short_key(request: ApiRequest, key: str) -> str:
    """Return a program's key as it is kept: the kind of egg is put behind it. 160 bits are enough."""
    return offline.kept_key(request.caller.member, key)[:40] if key else ""


def _wanted(egg_set: EggSet, query: Wanted) -> bool:
    return (
        query.state in (None, egg_set.state)
        and query.machine_id in (None, egg_set.setter_id, egg_set.hatcher_id)
        and (query.from_ is None or egg_set.set_on >= query.from_)
        and (query.to is None or egg_set.set_on < query.to)
    )
