"""Hatching at a glance: the machines over the days, and the egg sets as they stand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from farm.models.egg_set import EggSetState
from farm.planning.agenda import Item
from farm.queries import agenda, hatching
from farm.queries.hatching import HATCHING, OVERDUE, PLANNED, TURNED, SetRow
from farm.web.access import FarmRequest, farm_page
from farm.web.board.choice import WEEKS, choose
from farm.web.hatching import timeline
from farm.web.hatching.sets import day_number

_USUAL_WEEKS = "6"  # a hen's egg takes three
_AHEAD_DAYS = 60
_LATEST = 12  # sets that are over and shown

#: The states of open sets in a word, the most pressing first.
STATES = {
    OVERDUE: _("waiting for the count"),
    HATCHING: _("last days and hatch"),
    TURNED: _("in the machine"),
    PLANNED: _("planned"),
}


@dataclass(frozen=True, slots=True)
class Shown:
    """An open egg set in the list. word: for its state. number of `of`: its day of incubation. next: its next step."""

    row: SetRow
    word: str
    number: int
    of: int
    next: Item | None
    may_hatch: bool


@require_safe
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """Show the machines with their egg sets by day, what clashes, and each set with what comes next."""
    farm, today = request.visit.farm, request.visit.by.today
    choice = choose({"weeks": _USUAL_WEEKS} | request.GET.dict(), today, farm.first_weekday)
    sheet = hatching.for_farm(farm, choice.window, today)
    shown = _shown(sheet.sets, agenda.next_steps(farm, today, _AHEAD_DAYS), today)
    over = [row for row in reversed(sheet.sets) if row.egg_set.state != EggSetState.OPEN]
    context = {
        "timeline": timeline.draw(sheet, choice, today, farm.first_weekday, hatching.conflicts(farm)),
        "weeks": WEEKS,
        "today": today,
        "shown": sorted(shown, key=lambda one: list(STATES).index(one.row.state)),
        "over": over[:_LATEST],
        "any_set": bool(sheet.sets),
    }
    return render(request, "web/hatching/hatching.html", context)


def _shown(rows: Sequence[SetRow], coming: dict[int, Item], today: date) -> list[Shown]:
    return [
        Shown(
            row=row,
            word=str(STATES[row.state]),
            number=day_number(row, today),
            of=(row.dates.hatch_day - row.dates.set_on).days,
            next=coming.get(row.egg_set.batch_id or 0),
            may_hatch=today >= row.dates.hatch_first,
        )
        for row in rows
        if row.egg_set.state == EggSetState.OPEN
    ]
