"""Who does what: the rota, what people decided about it, how fair it is, and its rules."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.utils.translation import gettext as _
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api import windows
from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, absent
from api.models import Scope
from api.occurrences import Occurrence
from farm.errors import BadInput, NotFound
from farm.models import Pin, RotaRules
from farm.models.chore_mark import Round
from farm.models.member import Role
from farm.queries import agenda
from farm.queries import rota as queries
from farm.queries.rota import FairRow, Week, Work
from farm.services import rota
from farm.wording import say

router = Router(tags=["Rota"])

_MOST = 200  # occurrences given at once; project default (judgement)
_AWAY_DAYS = 400  # how far from today it is shown, as on the page


class Doer(Schema):
    """Who does an occurrence. decided: a person said so; the rota works around it."""

    member_id: int
    member: str
    decided: bool


class RotaOut(Schema):
    """One occurrence and who does it."""

    source: str
    due: Day = Field(description="The day it was first due.")
    round: Round = Field(description="The round it was first due in.")
    do_on: Day
    do_in: Round
    title: str
    minutes: int
    place: str = Field(description="Places that stand together are one.")
    doers: list[Doer]
    missing: int = Field(description="Hands nobody offers.")
    why_missing: str = Field(description="What the last rota said of it.")
    done: bool


class Fairness(Schema):
    """A member's work over the days that are evened out, in minutes."""

    member_id: int
    member: str
    part_minutes: float = Field(description="Their fair part.")
    done_minutes: int
    planned_minutes: int
    reachable_minutes: int = Field(description="The most they could do of all there is.")
    off_minutes: float = Field(description="More than their part; below 0 for less.")
    why: str = Field(description="What keeps them from their part.")


class PinOut(Schema):
    """A person's decision that a member does an occurrence."""

    id: int
    source: str
    due: Day
    round: Round
    member_id: int


class Rules(Schema):
    """How the farm shares its work."""

    version: int
    weeks: int = Field(description="How far ahead chores are given out.")
    fair_days: int = Field(description="Days over which shares are evened out, some past ones included.")
    missed_after: int = Field(description="Minutes until a missed chore that birds depend on is passed on.")


class NewRules(In):
    """How the work is to be shared."""

    weeks: int = Field(4, ge=1, le=8)
    fair_days: int = Field(42, ge=14, le=182)
    missed_after: int = Field(90, ge=15, le=600)


class RulesChange(In):
    """What is to be different; what is left out stays."""

    weeks: int = absent(ge=1, le=8)
    fair_days: int = absent(ge=14, le=182)
    missed_after: int = absent(ge=15, le=600)


class Give(In):
    """Who is to do what. instead_of: who of two no longer does it; null: whoever nobody decided on."""

    occurrences: list[Occurrence] = Field(min_length=1, max_length=_MOST)
    member_id: Id
    instead_of: Id | None = None


class LetGo(In):
    """What the rota may decide again."""

    occurrences: list[Occurrence] = Field(min_length=1, max_length=_MOST)


class Given(Schema):
    """What was given. wishes: what the member did not wish for; it holds all the same."""

    wishes: list[str]


class Ended(Schema):
    """How many decisions ended."""

    decisions: int


class Wanted(pages.Paging):
    """Which days, and whose."""

    from_: Day | None = Field(None, alias="from", description="The first day; today, when left out.")
    to: Day | None = Field(None, description="The first day not wanted; seven days later, when left out.")
    member: Id | None = None
    missing: bool | None = Field(None, description="Short of hands, or not.")


class WantedPins(pages.Paging):
    """Which decisions."""

    from_: Day | None = Field(None, alias="from", description="First due on this day or later.")
    member: Id | None = None


@router.get("/", response=Page[RotaOut])
@needs(Role.CHILD, Scope.READ)
def list_rota(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List who does what on some days. Without a rota nobody is given anything, nor is missing."""
    farm, today = request.caller.farm, request.caller.by.today
    edge = timedelta(days=_AWAY_DAYS)
    first = windows.ahead("from", query.from_ or today, today - edge, today + edge)
    count = windows.days(first, query.to or first + timedelta(days=7))
    week = queries.week(farm, first, today, count)
    found = [
        work
        for work in week.works
        if query.member in (None, *work.members)
        and query.missing in (None, work.missing > 0)
        and agenda.is_shown(request.caller.member, work.due.item.source)
    ]
    page = pages.of_list(found, query)
    page["items"] = [_shape(work, week, farm.units) for work in page["items"]]
    return page


@router.get("/fairness/", response=Page[Fairness])
@needs(Role.CHILD, Scope.READ)
def list_fairness(request: ApiRequest, query: Query[pages.Paging]) -> dict[str, Any]:
    """List everybody's part, what they did and what they are given; nobody without a rota."""
    farm = request.caller.farm
    rows = queries.fairness(farm, request.caller.by.today)
    return pages.of_list([_fair(row, farm.units) for row in rows], query)


@router.post("/give/", response=Given)
@needs(Role.KEEPER, Scope.WRITE)
def give_chores(request: ApiRequest, new: Give) -> dict[str, Any]:
    """Decide that a member does these occurrences. What is done already is left out."""
    try:
        wishes = rota.give(
            request.caller.by,
            occurrences=_keys(new.occurrences),
            member_id=new.member_id,
            instead_of=new.instead_of,
        )
    except BadInput as refused:
        ours = {"member": "member_id"}
        raise BadInput({ours.get(name, name): texts for name, texts in refused.fields.items()}) from refused
    return {"wishes": [say(each, request.caller.farm.units) for each in wishes]}


@router.post("/let-go/", response=Ended)
@needs(Role.KEEPER, Scope.WRITE)
def let_chores_go(request: ApiRequest, which: LetGo) -> dict[str, int]:
    """Leave it to the rota again who does these occurrences."""
    return {"decisions": rota.let_go(request.caller.by, occurrences=_keys(which.occurrences))}


@router.get("/pins/", response=Page[PinOut])
@needs(Role.CHILD, Scope.READ)
def list_pins(request: ApiRequest, query: Query[WantedPins]) -> dict[str, Any]:
    """List what people decided about who does what. Decisions end by `let-go`."""
    asked = {"due__gte": query.from_, "member_id": query.member}
    rows = Pin.objects.filter(farm=request.caller.farm)
    rows = rows.filter(**{name: value for name, value in asked.items() if value is not None})
    return pages.of(rows, query, lambda pin: pin)


@router.get("/rules/", response=Rules)
@needs(Role.CHILD, Scope.READ)
def get_rota_rules(request: ApiRequest) -> RotaRules:
    """Return how the farm shares its work. There are none where it has no rota."""
    return _rules(request)


@router.post("/rules/", response={201: Rules})
@needs(Role.KEEPER, Scope.WRITE)
def start_rota(request: ApiRequest, new: NewRules) -> Status:
    """Begin a rota and work the first one out."""
    by = request.caller.by
    rota.start(by, **new.dict())
    rota.refresh(farm_id=request.caller.farm.pk, now=by.now)
    request.location = request.path
    return Status(201, _rules(request))


@router.patch("/rules/", response=Rules)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_rota_rules(request: ApiRequest, change: RulesChange) -> RotaRules:
    """Change how the work is shared. The rota is worked out anew in the background."""
    rota.change_rules(request.caller.by, expected_version=versions.expected(request), **change.given())
    return _rules(request)


@router.post("/stop/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE)
def stop_rota(request: ApiRequest) -> Status:
    """End the rota: from now on everybody sees all they may do. What was given out on past days stays as it is."""
    rota.stop(request.caller.by)
    return Status(204, None)


def _rules(request: ApiRequest) -> RotaRules:
    found = queries.rules(request.caller.farm)
    if found is None:
        raise NotFound(_("This farm has no rota."))
    return versions.show(request, found)


def _keys(occurrences: list[Occurrence]) -> list[tuple[str, Any, str]]:
    return [(one.source, one.due, one.round.value) for one in occurrences]


def _shape(work: Work, week: Week, units: str) -> dict[str, Any]:
    item, names = work.due.item, {member.pk: member.name for member in week.members}
    source, due, round = item.occurrence
    why = week.why.get(item.occurrence)
    return {
        "source": source,
        "due": due,
        "round": round,
        "do_on": item.due,
        "do_in": item.round,
        "title": say(item.title, units),
        "minutes": item.minutes,
        "place": work.group,
        "doers": [
            {"member_id": pk, "member": names.get(pk, ""), "decided": pk in work.pinned}
            for pk in work.members
        ],
        "missing": work.missing,
        "why_missing": "" if why is None else say(why.reason, units),
        "done": not work.due.open,
    }


def _fair(row: FairRow, units: str) -> dict[str, Any]:
    return {
        "member_id": row.member.pk,
        "member": row.member.name,
        "part_minutes": round(row.target, 1),
        "done_minutes": row.done,
        "planned_minutes": row.planned,
        "reachable_minutes": row.reachable,
        "off_minutes": round(row.off, 1),
        "why": "" if row.why is None else say(row.why, units),
    }
