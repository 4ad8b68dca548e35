"""What to do now, and the same as a sheet of paper."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.models import Batch, Housing
from farm.models.member import Role
from farm.queries import alerts, members, plans
from farm.web.access import FarmRequest, farm_page
from farm.web.quick.forms import QuickForm
from farm.web.today import cards, rounds


@require_safe
@farm_page()
def today(request: FarmRequest) -> HttpResponse:
    """Show a day's rounds with everything to tick, and a card for each housing.

    `?day=2026-05-09`: another day. `?mine=1`: only what the rota gives to whoever looks.
    """
    context = _day(request)
    context["quick"] = QuickForm.opened(request.visit.farm)
    context["standing"] = alerts.shown(request.visit.farm) if context["is_today"] else []
    context["notices"] = plans.notices(request.visit.farm)
    return render(request, "web/today/today.html", context)


@require_safe
@farm_page()
def sheet(request: FarmRequest) -> HttpResponse:
    """Show a day to print: every chore with its checklist and a box to tick by hand."""
    return render(request, "web/today/sheet.html", _day(request))


def _day(request: FarmRequest) -> dict[str, Any]:
    visit = request.visit
    farm, now_day = visit.farm, visit.by.today
    day = rounds.day_asked(request.GET.get("day", ""), now_day)
    opened = request.GET.get("open", "")
    asked_mine = request.GET.get("mine") == "1"
    work = rounds.of_day(farm, visit.member, day, visit.by.now, now_day, opened, mine=asked_mine)
    return {
        "day": day,
        "today": now_day,
        "is_today": day == now_day,
        "is_past": day < now_day,
        "yesterday": day - timedelta(days=1),
        "tomorrow": day + timedelta(days=1),
        "work": work,
        "mine": work.mine,
        "before_opened": any(line.key == opened for line in work.before),
        "adults": ", ".join(members.beside_children(farm.pk)) if visit.member.role == Role.CHILD else "",
        "unfolded": opened if request.GET.get("more") else "",
        "housing": cards.of_day(farm, day, now_day),
        "any_housing": Housing.objects.filter(farm=farm).exists(),
        "any_work": work.mine or work.total > 0,
        "any_batch": Batch.objects.filter(farm=farm).exists(),
    }
