"""The list of housing, and the page of one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.husbandry.advice.warmth import Advice
from farm.models import Batch, Housing, Observation
from farm.planning.window import Window
from farm.queries import advice, lookup, occupancy
from farm.trade import behaviours
from farm.trade.cautions import Caution, cautions
from farm.web.access import FarmRequest, farm_page
from farm.web.board.choice import WEEKS, choose
from farm.web.board.drawing import draw
from farm.web.housing import lighting, rooms
from farm.web.housing.forms import SEEN_FORMS


@dataclass(frozen=True, slots=True)
class Warm:
    """Advice about the warmth of a batch, with what to beware of."""

    batch: Batch
    advice: Advice
    cautions: list[Caution]


_AHEAD_DAYS = 26 * 7  # how far a free day is looked for
_LATEST = 20  # observations shown


@require_safe
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """Show every housing with its room used today, who lives there and the next day it is free."""
    today = request.visit.by.today
    sheet = occupancy.for_farm(request.visit.farm, Window(today, _AHEAD_DAYS), today)
    found = rooms.by_room(list(sheet.housings.values()), sheet, today)
    return render(request, "web/housing/housing.html", {"rooms": found, "today": today})


@require_safe
@farm_page()
def page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one housing: its row of the board, who lives there, its stays, and what was seen in it."""
    farm, today = request.visit.farm, request.visit.by.today
    housing = lookup.get(Housing, farm_id=farm.pk, pk=pk)
    choice = choose(request.GET.dict(), today, farm.first_weekday)
    key = str(housing.pk)
    drawn = occupancy.for_farm(farm, choice.window, today)
    ahead = occupancy.for_farm(farm, Window(today, _AHEAD_DAYS), today)
    over, going, planned = rooms.stays_of(ahead, key, today)
    context = {
        "housing": housing,
        "today": today,
        "now": rooms.on(ahead, key, today),
        "board": draw(drawn, choice, today, farm.first_weekday, only=key),
        "weeks": WEEKS,
        "over": over,
        "going": going,
        "planned": planned,
        "seen": _seen(housing),
        "light": lighting.draw(housing, farm, today),
        "warm": _warm(rooms.on(ahead, key, today).lodgers, request),
        "seen_forms": [form(farm=farm, auto_id=f"{kind}-%s") for kind, form in SEEN_FORMS.items()],
    }
    return render(request, "web/housing/page.html", context)


def _warm(lodgers: Sequence[rooms.Lodger], request: FarmRequest) -> list[Warm]:
    """Return for each batch in a housing whether it wants it warmer or cooler."""
    by = request.visit.by
    found = [(lodger.batch, advice.warm(lodger.batch, by.today, by.now)) for lodger in lodgers]
    return [
        Warm(batch, said, [cautions()[key] for key in said.cautions])
        for batch, said in found
        if said is not None
    ]


def _seen(housing: Housing) -> list[Observation]:
    """Return the latest observations, each with `saw`: the untranslated words of a behaviour."""
    found = list(Observation.objects.filter(housing=housing).select_related("member", "batch")[:_LATEST])
    for one in found:
        known = behaviours.behaviours().get(one.word)
        one.saw = known.seen if known else one.word  # type: ignore[attr-defined]
    return found
