"""Reading the plan: headroom and the question before an order, one plan or trial, and ways out."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.core.cache import cache
from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm import dispatch
from farm.models import Farm, Housing, Plan
from farm.models.member import Role
from farm.models.plan import OPEN, PlanState
from farm.planning.shortfalls import Shortfall
from farm.queries import asking, headroom, kinds, plans, stamps
from farm.queries.asking import Standing
from farm.queries.plans import Shown
from farm.services import plan_changes, proving
from farm.web.access import FarmRequest, farm_page
from farm.web.board.choice import WEEKS
from farm.web.plan import answering, bill, calendar, comparing, forms, sentences, trying, verdict, ways

_RECENT = 8
_ASKED_S = 60  # the table is not asked for again so soon
_ROOM_DAYS = 182  # arrival days over which two plans' headroom is compared; project default (judgement)
_WORKING = (PlanState.WAITING, PlanState.SOLVING)


@require_safe
@farm_page(Role.KEEPER)
def plan(request: FarmRequest) -> HttpResponse:
    """Show how many more would fit on every day ahead, answer a question about one, and list trials and proposals."""
    farm, today = request.visit.farm, request.visit.by.today
    context: dict[str, Any] = {"any_housing": Housing.objects.filter(farm=farm).exists()}
    if context["any_housing"]:
        mine = kinds.in_use(farm.pk)
        chosen = _chosen(request, mine)
        now = asking.adopted(farm, today)
        context |= {"kinds": mine, "chosen": chosen, "year": _year(farm, now, chosen, today)}
        if request.htmx and request.htmx.target == "calendar":  # type: ignore[attr-defined]
            return render(request, "web/plan/calendar.html", context)
        context |= answering.box(request, chosen)
        context |= {
            "forms": forms.opened(farm, now.problem, today, _given(request)),
            "recent": plans.recent(farm)[:_RECENT],
            "notices": plans.notices(farm),
        }
    return render(request, "web/plan/plan.html", context)


def _chosen(request: FarmRequest, mine: list[tuple[str, str]]) -> str:
    asked = request.GET.get("type", "")
    known = [choice for choice, _name in mine]
    return asked if asked in known else next(iter(known), "")


def _year(farm: Farm, now: Standing, chosen: str, today: date) -> calendar.Calendar | None:
    """Return the year ahead for the type that was chosen, None for a farm that keeps none yet.

    The table of all types is worked out in the background; until it is of the farm as it is now, the page works the
    one type out itself.
    """
    if not chosen:
        return None
    table = headroom.table(farm, today)
    names = {str(row.pk): row.name for row in Housing.objects.filter(farm=farm)}
    found = calendar.stored(table, chosen, names, farm.first_weekday)
    if found is not None:
        return found
    if cache.add(f"headroom.{farm.pk}.{farm.version}.{today}", True, _ASKED_S):
        dispatch.after_commit("refresh_headroom", farm_id=farm.pk)
    kind, held = kinds.of(farm, chosen, today), kinds.held(farm, chosen, today)
    return calendar.fixed(asking.year(now, kind, today, held=held), farm.first_weekday)


def _given(request: FarmRequest) -> dict[str, str]:
    return {name: request.GET[name] for name in ("type", "day", "birds") if request.GET.get(name)}


@require_safe
@farm_page(Role.KEEPER)
def ways_of_asked(request: FarmRequest) -> HttpResponse:
    """Show what would make so many fit after all. `type`, `day`, `birds` as in the question."""
    asked = answering.asked(request)
    short = asking.worst(asked.short) if asked else None
    if asked is None or asked.standing is None or asked.change is None or short is None:
        return _no_ways(request)
    farm_id = request.visit.farm.pk
    return _ways(request, ways.offers(farm_id, asked.standing, short, (asked.change,), asked.before))


@require_safe
@farm_page(Role.KEEPER)
def what_would_help(request: FarmRequest) -> HttpResponse:
    """Show the ways out of what does not fit as planned now. `kind`, `housing` and `day` as on the board."""
    farm, today = request.visit.farm, request.visit.by.today
    now = asking.adopted(farm, today)
    short = _named(request, now)
    return _no_ways(request) if short is None else _ways(request, ways.offers(farm.pk, now, short))


@require_safe
@farm_page(Role.KEEPER)
def ways_of_plan(request: FarmRequest, plan: str) -> HttpResponse:
    """Show the ways out of what does not fit in a plan; each is tried on top of the plan's own changes."""
    one = plans.by_code(request.visit.farm.pk, plan)
    found, tried = trying.read(one)
    if found.solution is None:
        return _no_ways(request)
    now = asking.standing(found.problem, found.solution)
    short = _named(request, now)
    if short is None:
        return _no_ways(request)
    return _ways(request, ways.offers(one.farm_id, now, short, tried))


@require_safe
@farm_page(Role.KEEPER)
def room_of_plan(request: FarmRequest, plan: str) -> HttpResponse:
    """Show how much more could still come with a plan, beside how much could come as planned now."""
    farm, today = request.visit.farm, request.visit.by.today
    one = plans.by_code(farm.pk, plan)
    found, _tried = trying.read(one)
    lines: list[tuple[asking.RoomLeft, asking.RoomLeft]] = []
    if found.solution is not None and found.problem.housings:
        types = [kinds.of(farm, choice, today, key=choice) for choice, _name in kinds.in_use(farm.pk)]
        first = max(today, found.problem.start)
        held = {each.key: kinds.held(farm, each.key, today, _ROOM_DAYS) for each in types}
        later = {each.key: kinds.held(farm, each.key, first, _ROOM_DAYS) for each in types}
        before = asking.room_left(asking.adopted(farm, today), types, today, _ROOM_DAYS, held)
        there = asking.standing(found.problem, found.solution)
        after = asking.room_left(there, types, first, _ROOM_DAYS, later)
        lines = list(zip(before, after, strict=True))
    bare = bool(request.htmx)  # type: ignore[attr-defined]
    template = "web/plan/room.html" if bare else "web/plan/room_page.html"
    return render(request, template, {"lines": lines, "plan": one, "weeks": _ROOM_DAYS // 7})


def _named(request: FarmRequest, now: Standing) -> Shortfall | None:
    """Return the shortfall that an address names by kind, housing and day."""
    try:
        day = date.fromisoformat(request.GET.get("day", ""))
    except ValueError:
        return None
    # The board also shows days that have passed; a plan begins today.
    day = max(day, now.problem.start)
    asked = request.GET
    return now.at(asked.get("kind", ""), asked.get("housing") or None, day, asked.get("batch", ""))


def _ways(request: FarmRequest, found: ways.Offers) -> HttpResponse:
    bare = bool(request.htmx)  # type: ignore[attr-defined]
    return render(request, "web/plan/ways.html" if bare else "web/plan/help.html", {"found": found})


def _no_ways(request: FarmRequest) -> HttpResponse:
    bare = bool(request.htmx)  # type: ignore[attr-defined]
    return render(request, "web/plan/ways.html" if bare else "web/plan/help.html", {"found": None})


@require_safe
@farm_page(Role.KEEPER)
def page(request: FarmRequest, plan: str) -> HttpResponse:
    """Show a plan: its progress while it is worked out, then what it changes beside what is planned now."""
    one = plans.by_code(request.visit.farm.pk, plan)
    context = plan_context(request, one)
    bare = bool(request.htmx)  # type: ignore[attr-defined]
    return render(request, "web/plan/body.html" if bare else "web/plan/page.html", context)


def plan_context(request: FarmRequest, one: Plan) -> dict[str, Any]:
    """Return what the templates of one plan read."""
    farm, today = request.visit.farm, request.visit.by.today
    found, tried = trying.read(one)
    context: dict[str, Any] = {
        "plan": one,
        "today": today,
        "found": found,
        "tried": list(enumerate(sentences.said(tried, found.problem))),
        "unkept": plan_changes.not_kept(tried),
        "working": one.state in _WORKING,
        "open": one.state in OPEN,
        "weeks": WEEKS,
        "changed": stamps.changed_since(one) if one.state == PlanState.READY else [],
        "undone": one.adoption is not None and hasattr(one.adoption, "undone_by"),
    }
    if found.solution is not None and not context["working"]:
        context |= _whole(request, found)
        if one.state == PlanState.READY:
            context["forms"] = forms.opened(farm, found.problem, today)
            context["proving"] = proving.is_under_way(one, request.visit.by.now)
            context["provable"] = not context["proving"] and proving.can_be_asked(one, found.problem)
    return context


def _whole(request: FarmRequest, found: Shown) -> dict[str, Any]:
    farm, today = request.visit.farm, request.visit.by.today
    assert found.solution is not None
    choice = comparing.opening(found, today, farm, request.GET.dict())
    return {
        "pair": comparing.pair(farm, found, choice, today, whole=request.GET.get("all") == "1"),
        "bill": bill.lines(found.plan),
        "verdict": verdict.verdict(found.solution),
        "short": asking.standing(found.problem, found.solution).shortfalls(),
    }
