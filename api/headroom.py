"""How many more birds could come, day by day; and the question before an order: do so many fit, and what if not?"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.core.cache import cache
from django.utils.translation import gettext as _
from ninja import Field, Query, Router, Schema

from api import plan_shapes as shapes
from api import windows
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.shapes import Day, In, Text
from api.models import Scope
from api.plan_shapes import ShortfallOut, WaysOut
from api.plan_tries import Birds
from farm import dispatch
from farm.errors import BadInput
from farm.models import Housing
from farm.models.member import Role
from farm.queries import asking, headroom_days, kinds
from farm.queries.asking import Asked
from farm.web.plan import trying, ways
from farm.wording import say

router = Router(tags=["Headroom"])
what_if = Router(tags=["Headroom"])

_ASKED_S = 60  # the table is not asked for again so soon
_PROGRAMME = "Key of a built-in programme, or the number of one of the farm's."


class HeadroomDay(Schema):
    """How many chicks of the type could arrive on a day."""

    day: Day
    birds: int = Field(description="So many fit with nobody else moved.")
    replanned_birds: int | None = Field(
        description="The most with others planned anew; null while not worked out."
    )
    binding_housing_id: int | None = Field(
        description="What keeps it from being more; null: no housing takes them."
    )
    binding_day: Day | None


class Headroom(Schema):
    """Headroom of one type over some days."""

    programme: str
    days: list[HeadroomDay]
    replanned_done: int = Field(description="Days of the coming half year planned anew so far …")
    replanned_of: int = Field(description="… of so many; 0 while the farm's table is being worked out.")


class WantedDays(In):
    """Which days of which type."""

    programme: Text = Field(max_length=40, description=_PROGRAMME)
    from_: Day | None = Field(None, alias="from", description="Today, when left out.")
    to: Day | None = Field(None, description="The first day not wanted; 92 days later, when left out.")


class Question(In):
    """Can so many come on a day?"""

    programme: Text = Field(max_length=40, description=_PROGRAMME)
    birds: Birds
    day: Day = Field(description="They arrive on; within a year from today.")
    age_days: int = Field(0, ge=0, le=400, description="Of the birds on that day.")
    ways_out: bool = Field(
        False, description="Look for ways out too, where they do not fit: up to some seconds."
    )


class Answer(Schema):
    """Whether they fit with nobody else moved; if not, what breaks by how much, and what would fit instead."""

    fits: bool
    most: int = Field(description="So many would fit on that day.")
    sentence: str
    binding_housing: str = Field(description="What keeps it from being more; empty: no housing takes them.")
    binding_day: Day
    shortfalls: list[ShortfallOut] = Field(description="What they would lack, where they fit best.")
    next_day: Day | None = Field(description="The first day within a year on which so many fit.")
    ways_out: WaysOut | None = Field(description="Of the gravest shortfall, where asked for.")
    offer: str = Field(description="Send it as `offer` of a new plan to try it with others planned anew.")


@router.get("/", response=Headroom)
@needs(Role.KEEPER, Scope.READ)
def get_headroom(request: ApiRequest, query: Query[WantedDays]) -> dict[str, Any]:
    """Return how many more chicks of a type could arrive on each day."""
    farm, today = request.caller.farm, request.caller.by.today
    last = asking.last_day(today)
    first = windows.ahead("from", query.from_ or today, today, last)
    end = query.to or min(first + timedelta(days=windows.MOST_DAYS), last + timedelta(days=1))
    count = windows.days(first, end, most=365)
    windows.ahead("to", end, first, last + timedelta(days=1))
    found = headroom_days.days(farm, query.programme, today, first, count)
    if not found.stored and cache.add(f"headroom.{farm.pk}.{farm.version}.{today}", True, _ASKED_S):
        dispatch.after_commit("refresh_headroom", farm_id=farm.pk)
    return {
        "programme": query.programme,
        "days": [
            {
                "day": day.arrival,
                "birds": day.birds,
                "replanned_birds": day.replanned,
                "binding_housing_id": day.housing,
                "binding_day": day.binds_on,
            }
            for day in found.days
        ],
        "replanned_done": found.done,
        "replanned_of": found.of,
    }


@what_if.post("/", response=Answer)
@needs(Role.KEEPER, Scope.READ)
def ask_what_if(request: ApiRequest, question: Question) -> dict[str, Any]:
    """Answer whether so many more fit on a day beside everyone as planned now. Nothing is saved."""
    farm, today = request.caller.farm, request.caller.by.today
    last = asking.last_day(today)
    if not today <= question.day <= last:
        raise BadInput.at("day", _("Choose a day from today to a year ahead."))
    if not Housing.objects.filter(farm=farm).exists():
        raise BadInput.at("", _("There is no housing yet. Add one first."))
    species = kinds.of(farm, question.programme, question.day).species
    now = asking.adopted(farm, today, until=last, species=[species])
    kind = trying.joining(farm, now.problem, question.programme, question.day, question.age_days)
    found = asking.ask(now, kind, question.day, question.birds)
    assert found.change is not None
    assert found.standing is not None
    following = question.day if found.fits else None
    if following is None and question.age_days == 0:
        left = (last - question.day).days + 1
        following = headroom_days.next_day(now, farm, question.programme, question.birds, question.day, left)
    return {
        "fits": found.fits,
        "most": found.cell.birds,
        "sentence": say(found.cell.sentence(), farm.units),
        "binding_housing": found.cell.housing.name,
        "binding_day": found.cell.day,
        "shortfalls": [shapes.shortfall(one, found.standing.problem, farm.units) for one in found.short],
        "next_day": following,
        "ways_out": _ways(request, found) if question.ways_out else None,
        "offer": trying.sealed(farm.pk, [found.change]),
    }


def _ways(request: ApiRequest, found: Asked) -> dict[str, Any] | None:
    short = asking.worst(found.short)
    if short is None or found.standing is None or found.change is None:
        return None
    farm = request.caller.farm
    offers = ways.offers(farm.pk, found.standing, short, (found.change,), found.before)
    return shapes.ways(offers, found.standing.problem, farm.units)
