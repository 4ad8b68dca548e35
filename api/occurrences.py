"""What is to be done: the agenda of some days, ticked, left out, opened again, put off and brought back."""

from __future__ import annotations

from collections.abc import Collection
from datetime import timedelta
from typing import Any

from django.utils.translation import gettext as _
from ninja import Field, Query, Router

from api import occurrence_shapes as shapes
from api import windows
from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text
from api.models import Scope
from api.occurrence_shapes import OccurrenceOut
from farm.errors import BadInput, NotFound
from farm.models import ChoreMark, Member
from farm.models.chore_mark import MarkState, Round
from farm.models.member import Role
from farm.planning.window import Window
from farm.queries import agenda, lookup, rota_rows, rounds
from farm.queries.agenda import Due
from farm.services import asks, chores, offline, postponing
from farm.web.today import lines, telling
from farm.wording import say

router = Router(tags=["Occurrences"])

_AWAY_DAYS = 400  # how far from today the agenda is asked for, as on the page


class Wanted(pages.Wide):
    """Which occurrences. Beginning today, the steps of earlier days that are still open come first."""

    from_: Day | None = Field(None, alias="from", description="The first day; today, when left out.")
    to: Day | None = Field(None, description="The first day not wanted; the day after `from`, when left out.")
    member: Id | None = Field(
        None,
        description="What this member has to do: what the rota gives them, and to a keeper what nobody is given; "
        "without a rota all they may do.",
    )
    round: Round | None = Field(None, description="To be done in this round now.")
    batch: Id | None = None
    housing: Id | None = None
    done: bool | None = Field(None, description="Marked, done or left out; or still open.")


class Occurrence(In):
    """One occurrence by what identifies it."""

    source: Text = Field(min_length=1, max_length=120)
    due: Day = Field(description="The day it was first due.")
    round: Round = Field(description="The round it was first due in.")


class Tick(Occurrence):
    """That an occurrence was done, or left out and why."""

    state: MarkState = MarkState.DONE
    note: Text = Field(
        "", max_length=200, description="Needed with skipped, and where the occurrence asks for it."
    )
    minutes: int | None = Field(
        None,
        ge=0,
        le=600,
        description="What counts for fairness; what it is reckoned to take, when left out.",
    )
    key: Text = Field(
        "",
        max_length=offline.MOST_KEY,
        description="The program's own; sent again, the first tick is answered again.",
    )


class PutOff(Occurrence):
    """Where an occurrence goes, and why."""

    to_due: Day
    to_round: Round
    reason: Text = Field("", max_length=200)


OccurrenceFields = pages.fewer(OccurrenceOut)


@router.get("/", response=Page[OccurrenceFields], exclude_unset=True)  # type: ignore[valid-type]
@needs(Role.CHILD, Scope.READ)
def list_occurrences(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List what is due on some days, today's when none are named, by day, round, place and title."""
    today = request.caller.by.today
    edge = timedelta(days=_AWAY_DAYS)
    first = windows.ahead("from", query.from_ or today, today - edge, today + edge)
    count = windows.days(first, query.to or first + timedelta(days=1))
    found = [due for due in _dues(request, query.member, Window(first, count)) if _wanted(due, query)]
    page = pages.of_list(found, query)
    page["items"] = _shown(request, page["items"])
    return pages.only(page, OccurrenceOut, query.fields)


@router.post("/tick/", response=OccurrenceOut)
@needs(Role.CHILD, Scope.RECORD)
def tick_occurrence(request: ApiRequest, tick: Tick) -> dict[str, Any]:
    """Mark an occurrence done or left out. Whoever was first stands; a later note is added to theirs."""
    caller = request.caller
    sent = offline.kept_key(caller.member, tick.key) if tick.key else ""
    before = ChoreMark.objects.filter(farm=caller.farm, client_key=sent).first() if sent else None
    if before is not None:
        return _now(request, before.source, before.due, before.round)
    due = _find(request, tick)
    _check(tick, due)
    chores.mark(
        caller.by,
        source=tick.source,
        due=tick.due,
        round=tick.round,
        title=say(due.item.title, caller.farm.units),
        state=tick.state,
        note=tick.note,
        client_key=sent,
        minutes=due.item.minutes if tick.minutes is None else tick.minutes,
    )
    return _now(request, tick.source, tick.due, tick.round)


@router.post("/untick/", response=OccurrenceOut)
@needs(Role.CHILD, Scope.RECORD)
def untick_occurrence(request: ApiRequest, occurrence: Occurrence) -> dict[str, Any]:
    """Open an occurrence again. Nothing happens when it is open."""
    before = _now(request, occurrence.source, occurrence.due, occurrence.round)
    chores.unmark(request.caller.by, source=occurrence.source, due=occurrence.due, round=occurrence.round)
    if before["kind"] == "gone":
        return before | {"mark": None}
    return _now(request, occurrence.source, occurrence.due, occurrence.round)


@router.post("/put-off/", response=OccurrenceOut)
@needs(Role.CHILD, Scope.RECORD)
def put_occurrence_off(request: ApiRequest, put_off: PutOff) -> dict[str, Any]:
    """Put an open occurrence off to a later day or round. It stays the same occurrence."""
    _find(request, put_off)
    postponing.put_off(request.caller.by, **put_off.dict())
    return _now(request, put_off.source, put_off.due, put_off.round)


@router.post("/bring-back/", response=OccurrenceOut)
@needs(Role.CHILD, Scope.RECORD)
def bring_occurrence_back(request: ApiRequest, occurrence: Occurrence) -> dict[str, Any]:
    """Bring an occurrence back to the day and round it was first due."""
    _find(request, occurrence)
    postponing.bring_back(request.caller.by, **occurrence.dict())
    return _now(request, occurrence.source, occurrence.due, occurrence.round)


def _dues(request: ApiRequest, member_id: int | None, window: Window) -> list[Due]:
    farm, today = request.caller.farm, request.caller.by.today
    if member_id is not None:
        member = lookup.get(Member, farm_id=farm.pk, pk=member_id)
        found = [share.due for share in rounds.read(farm, window, today).of(member)]
    else:
        before = agenda.on_day(farm, today, today).before if window.start == today else ()
        found = [*before, *rota_rows.dues(farm, window, today)]
    return [due for due in found if agenda.is_shown(request.caller.member, due.item.source)]


def _wanted(due: Due, query: Wanted) -> bool:
    item = due.item
    return (
        query.round in (None, item.round)
        and (query.batch is None or str(query.batch) in item.batches)
        and (query.housing is None or str(query.housing) == item.room)
        and query.done in (None, not due.open)
    )


def _shown(request: ApiRequest, dues: Collection[Due]) -> list[dict[str, Any]]:
    farm, today = request.caller.farm, request.caller.by.today
    tell = telling.read(farm, request.caller.member, dues, today, today)
    return [
        shapes.shape(
            tell.line(due),
            tell.doers.given.get(due.item.occurrence, ()),
            late=due.item.due < today and due.open and due.item.kind == "step",
            units=farm.units,
        )
        for due in dues
    ]


def _find(request: ApiRequest, occurrence: Occurrence) -> Due:
    farm, today = request.caller.farm, request.caller.by.today
    found = agenda.find(farm, occurrence.source, occurrence.due, occurrence.round, today)
    if found is None:
        raise NotFound(_("There is no such chore in the agenda."))
    return found


def _check(tick: Tick, due: Due) -> None:
    """Raise BadInput for a tick without what it must say."""
    if tick.state == MarkState.SKIPPED and not tick.note.strip():
        raise BadInput.at("note", _("Write why it is left out, in a word or two."))
    if tick.state == MarkState.DONE and due.open:
        lacking = asks.lacking(due.item.asks, note=tick.note, picture=False)
        if lacking:
            raise BadInput.at("note", lacking)


def _now(request: ApiRequest, source: str, due: Any, round: str) -> dict[str, Any]:
    """Return an occurrence as it is now, also when the agenda has it no more. Raises NotFound."""
    farm, member = request.caller.farm, request.caller.member
    found = agenda.find(farm, source, due, round, request.caller.by.today)
    if found is not None:
        return _shown(request, [found])[0]
    kept = ChoreMark.objects.filter(farm=farm, source=source, due=due, round=round).first()
    if kept is None:
        raise NotFound(_("There is no such chore in the agenda."))
    return shapes.shape(lines.of_mark(kept, member), (), late=False, units=farm.units)
