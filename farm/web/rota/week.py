"""The week of the farm: who does what on which day, on a page and on paper."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.queries import rota as reads
from farm.web.access import FarmRequest, farm_page
from farm.web.rota import grid


@require_safe
@farm_page()
def page(request: FarmRequest) -> HttpResponse:
    """Show the week, its people and what nobody does. `?from=2026-05-04`: the week of that day."""
    return render(request, "web/rota/week.html", _context(request))


@require_safe
@farm_page()
def sheet(request: FarmRequest) -> HttpResponse:
    """Show the week to print for the fridge, with boxes to tick by hand."""
    context = _context(request)
    context["steps"] = [work for work in context["grid"].week.works if work.due.item.kind == "step"]
    return render(request, "web/rota/sheet.html", context)


def _context(request: FarmRequest) -> dict[str, Any]:
    visit = request.visit
    today = visit.by.today
    first = grid.first_day(visit.farm, today, request.GET.get("from", ""))
    week = reads.week(visit.farm, first, today)
    return {
        "rules": reads.rules(visit.farm),
        "grid": grid.of_week(week, today),
        "today": today,
        "first": first,
        "last": first + timedelta(days=6),
        "before": first - timedelta(days=7),
        "after": first + timedelta(days=7),
        "this_week": first <= today < first + timedelta(days=7),
        "alone": len(week.members) < 2,
    }
