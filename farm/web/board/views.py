"""The board: every housing over the coming weeks."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.models import Batch
from farm.queries import nights, occupancy, plans
from farm.web.access import FarmRequest, farm_page
from farm.web.board import nights as drawing
from farm.web.board.choice import WEEKS, choose
from farm.web.board.drawing import draw


@require_safe
@farm_page()
def board(request: FarmRequest) -> HttpResponse:
    """Show how full each housing is on each day, and what does not fit."""
    farm, today = request.visit.farm, request.visit.by.today
    choice = choose(request.GET.dict(), today, farm.first_weekday)
    sheet = occupancy.for_farm(farm, choice.window, today)
    drawn = draw(sheet, choice, today, farm.first_weekday)
    expected = nights.over(farm, sheet)
    context = {
        "board": drawn,
        "nights": expected and drawing.draw(expected, choice.day_width, farm.units),
        "today": today,
        "weeks": WEEKS,
        "drag": request.visit.is_keeper,
        "notices": plans.notices(farm),
        "any_batch": bool(sheet.batches) or Batch.objects.filter(farm=farm).exists(),
    }
    return render(request, "web/board/board.html", context)
