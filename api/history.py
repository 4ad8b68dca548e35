"""The history: who changed what, in words, and taking it back."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from django.db.models import QuerySet
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Id, Instant, Text
from api.models import Scope
from farm.models import HistoryEntry
from farm.models.history import Face
from farm.models.member import Role
from farm.queries import history as read
from farm.queries import lookup
from farm.services import history
from farm.web.history.lines import EntryLine, ThingLine, lines

router = Router(tags=["History"])
#: What is undone only by a token that may write it: days away are people's.
_PEOPLES = frozenset({"away"})


class HistoryFieldOut(Schema):
    """One field of a record, in a keeper's words and units; "" for nothing."""

    label: str
    before: str
    after: str


class HistoryThingOut(Schema):
    """A record that was written."""

    kind: str
    name: str
    did: str
    fields: list[HistoryFieldOut]


class HistoryEntryOut(Schema):
    """One write. Its words are in the language of who reads, its summary in that of who wrote."""

    id: int
    at: datetime
    verb: str
    noun: str = Field(description="Kind of the record it is about, “” for the farm or for several.")
    noun_id: int | None
    summary: str
    member_id: int | None = Field(description="Who; null for the system itself.")
    member: str | None
    source: Face
    undoes_id: int | None = Field(description="The entry that this one takes back.")
    undone_by_id: int | None
    can_undo: bool = Field(
        description="Nothing forbids it for good; it may be refused when things changed since."
    )
    things: list[HistoryThingOut]


class Wanted(pages.Wide):
    """Which entries."""

    noun: Text | None = Field(None, max_length=40)
    noun_id: Id | None = Field(None, description="With `noun`: of one record.")
    member_id: Id | None = None
    source: Face | None = None
    since: Instant | None = Field(None, description="From this instant on.")
    before: Instant | None = None
    ticks: bool = Field(True, description="False: ticks of chores are left out.")
    order: Literal["id", "-id"] = "-id"


EntryFields = pages.fewer(HistoryEntryOut)


@router.get("/", response=Page[EntryFields], exclude_unset=True)  # type: ignore[valid-type]
@needs(Role.HELPER, Scope.READ)
def list_history(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List what was changed, newest first unless asked otherwise."""
    page = pages.of(_filtered(request, query), query, lambda entry: entry, order=query.order)
    page["items"] = [_shape(line) for line in lines(request.caller.farm, page["items"])]
    return pages.only(page, HistoryEntryOut, query.fields)


@router.get("/{history_id}/", response=HistoryEntryOut)
@needs(Role.HELPER, Scope.READ)
def get_history_entry(request: ApiRequest, history_id: Id) -> dict[str, Any]:
    """Return one entry."""
    return _whole(request, history_id)


@router.post("/{history_id}/undo/", response={201: HistoryEntryOut})
@needs(Role.KEEPER, Scope.WRITE)
def undo(request: ApiRequest, history_id: Id) -> Status:
    """Take an entry back by another one, which is returned. Refused when something it wrote was changed since."""
    entry = lookup.get(HistoryEntry, farm_id=request.caller.farm.pk, pk=history_id)
    if entry.changes.filter(model__in=_PEOPLES).exists():
        request.caller.require(Role.KEEPER, Scope.PEOPLE)
    made = history.undo(request.caller.by, entry_id=history_id)
    request.location = f"/api/v1/history/{made.pk}/"
    return Status(201, _whole(request, made.pk))


def _filtered(request: ApiRequest, query: Wanted) -> QuerySet[HistoryEntry]:
    rows = read.about(
        request.caller.farm,
        noun=query.noun or "",
        noun_id=query.noun_id,
        member_id=query.member_id,
        ticks=query.ticks,
    )
    asked = {"face": query.source, "at__gte": query.since, "at__lt": query.before}
    return rows.filter(**{name: value for name, value in asked.items() if value is not None})


def _whole(request: ApiRequest, entry_id: int) -> dict[str, Any]:
    farm = request.caller.farm
    lookup.get(HistoryEntry, farm_id=farm.pk, pk=entry_id)
    (line,) = lines(farm, [read.entries(farm).get(pk=entry_id)])
    return _shape(line)


def _shape(line: EntryLine) -> dict[str, Any]:
    entry = line.entry
    own = ("id", "at", "verb", "noun", "noun_id", "summary", "member_id", "undoes_id")
    return {name: getattr(entry, name) for name in own} | {
        "member": entry.member.name if entry.member else None,
        "source": entry.face,
        "undone_by_id": entry.undone_by.pk if hasattr(entry, "undone_by") else None,
        "can_undo": line.can_undo,
        "things": [_thing(thing) for thing in line.things],
    }


def _thing(thing: ThingLine) -> dict[str, Any]:
    return {
        "kind": thing.kind,
        "name": thing.name,
        "did": thing.did,
        "fields": [
            {name: getattr(one, name) for name in HistoryFieldOut.model_fields} for one in thing.fields
        ],
    }
