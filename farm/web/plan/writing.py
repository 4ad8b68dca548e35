"""Trying, working out anew, stopping, dropping and adopting plans: the buttons of the plan's pages."""

from __future__ import annotations

from collections.abc import Sequence

from django import forms as django_forms
from django.contrib import messages
from django.core.signing import BadSignature
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farm.errors import BadInput, Stale
from farm.models import Plan
from farm.models.member import Role
from farm.models.plan import PlanState
from farm.planning.changes import Change, apply_all
from farm.planning.codec import ReadingError
from farm.planning.problem import Problem
from farm.planning.solution import Solution
from farm.queries import asking
from farm.queries import plans as read
from farm.services import plans, proving
from farm.web import clock
from farm.web.access import FarmRequest, farm_page
from farm.web.mishaps import shown_in
from farm.web.plan import forms, sentences, trying, views
from farm.wording import say

_MOST_CHANGES = 12


@require_POST
@farm_page(Role.KEEPER)
def try_change(request: FarmRequest) -> HttpResponse:
    """Try a change on the farm as it is planned now: a form's, or those of a button that offered them."""
    now = asking.adopted(request.visit.farm, request.visit.by.today)
    return _try(request, None, now.problem, ())


@require_POST
@farm_page(Role.KEEPER)
def try_further(request: FarmRequest, plan: str) -> HttpResponse:
    """Try one change more on top of those of a trial."""
    one = read.by_code(request.visit.farm.pk, plan)
    found, tried = trying.read(one)
    return _try(request, one, found.problem, tried)


@require_POST
@farm_page(Role.KEEPER)
def try_without(request: FarmRequest, plan: str) -> HttpResponse:
    """Try the changes of a trial but one; `change` is its place."""
    one = read.by_code(request.visit.farm.pk, plan)
    place = request.POST.get("change", "")
    kept = tuple(each for at, each in enumerate(trying.read(one)[1]) if str(at) != place)
    return _propose(request, kept, one)


@require_POST
@farm_page(Role.KEEPER)
def try_again(request: FarmRequest, plan: str) -> HttpResponse:
    """Work the same changes out anew, on the farm as it is now."""
    one = read.by_code(request.visit.farm.pk, plan)
    return _propose(request, trying.read(one)[1], one)


@require_POST
@farm_page(Role.KEEPER)
def plan_anew(request: FarmRequest) -> HttpResponse:
    """Work the farm's plan out anew, with nothing changed."""
    return _propose(request, (), None)


def _try(request: FarmRequest, base: Plan | None, problem: Problem, before: Sequence[Change]) -> HttpResponse:
    offered = request.POST.get("changes", "")
    if offered:
        try:
            wanted, known = trying.unsealed(request.visit.farm.pk, offered)
            return _propose(request, wanted, base, known)
        except (BadSignature, ReadingError):
            messages.error(request, _("That offer is no longer known. Ask again."))
            return _back(base)
    kind = request.POST.get("kind", "")
    if kind not in forms.BY_KIND:
        return _back(base)
    farm = request.visit.farm
    form = forms.BY_KIND[kind](request.POST, farm=farm, today=request.visit.by.today, problem=problem)
    if form.is_valid():
        with shown_in(form), _read_in(form):
            change = trying.change(farm, problem, kind, form.cleaned_data)
            return _proposed(request, (*before, change), base)
    return render(request, "web/plan/refused.html", {"form": form, "plan": base}, status=422)


def _propose(
    request: FarmRequest, wanted: tuple[Change, ...], base: Plan | None, known: Solution | None = None
) -> HttpResponse:
    """Propose and go to the plan; what is refused is said on the page one came from."""
    try:
        return _proposed(request, wanted, base, known)
    except BadInput as refused:
        text = str(refused)
    except ReadingError as refused:
        text = " ".join(say(message, request.visit.farm.units) for _path, message in refused.problems)
    messages.error(request, text)
    return _back(base)


def _proposed(
    request: FarmRequest, wanted: tuple[Change, ...], base: Plan | None, known: Solution | None = None
) -> HttpResponse:
    if len(wanted) > _MOST_CHANGES:
        raise BadInput.at("", _("That is too much at once. Adopt part of it first."))
    made = plans.propose(request.visit.by, changes=wanted, reason=_reason(request, wanted), known=known)
    if base is not None and base.state in (PlanState.WAITING, PlanState.SOLVING):
        plans.drop(request.visit.by, plan_id=base.pk)  # nobody waits for it any more
    return redirect("plan-page", plan=made.code)


def _reason(request: FarmRequest, wanted: tuple[Change, ...]) -> str:
    """Return what a plan is called in lists and in the history: its changes in words. Raises ReadingError."""
    if not wanted:
        return _("Everything planned anew")
    farm, today = request.visit.farm, request.visit.by.today
    problem = apply_all(asking.adopted(farm, today).problem, wanted)
    return "; ".join(say(each, farm.units) for each in sentences.said(wanted, problem))


class _read_in:
    """Puts what a typed change refuses beside the fields of its form."""

    def __init__(self, form: django_forms.Form) -> None:
        self.form = form

    def __enter__(self) -> None:
        """Begin."""

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> bool:
        """Take a ReadingError, its paths as fields where the form has them."""
        if not isinstance(error, ReadingError):
            return False
        for path, message in error.problems:
            field = path if path in self.form.fields else None
            self.form.add_error(field, say(message))
        return True


def _back(base: Plan | None) -> HttpResponse:
    return redirect("plan") if base is None else redirect("plan-page", plan=base.code)


@require_POST
@farm_page(Role.KEEPER)
def work_now(request: FarmRequest, plan: str) -> HttpResponse:
    """Work a waiting plan out on the spot, with a small budget; one somebody works on already is left alone."""
    one = read.by_code(request.visit.farm.pk, plan)
    plans.solve_now(request.visit.by, plan_id=one.pk, now=clock.now)
    return redirect("plan-page", plan=plan)


@require_POST
@farm_page(Role.KEEPER)
def prove(request: FarmRequest, plan: str) -> HttpResponse:
    """Ask for a proof that nothing is better than a ready plan; the page is looked at again later."""
    one = read.by_code(request.visit.farm.pk, plan)
    try:
        proving.ask(request.visit.by, plan_id=one.pk)
    except BadInput as refused:
        messages.error(request, str(refused))
    return redirect("plan-page", plan=plan)


@require_POST
@farm_page(Role.KEEPER)
def stop(request: FarmRequest, plan: str) -> HttpResponse:
    """Stop working a plan out and keep the best found."""
    one = read.by_code(request.visit.farm.pk, plan)
    plans.cancel(request.visit.by, plan_id=one.pk)
    return redirect("plan-page", plan=plan)


@require_POST
@farm_page(Role.KEEPER)
def drop(request: FarmRequest, plan: str) -> HttpResponse:
    """Put a plan aside."""
    one = read.by_code(request.visit.farm.pk, plan)
    try:
        plans.drop(request.visit.by, plan_id=one.pk)
    except BadInput as refused:
        messages.error(request, str(refused))
        return redirect("plan-page", plan=plan)
    messages.success(request, _("Put aside. Nothing on the farm was changed."))
    return redirect("plan")


@require_POST
@farm_page(Role.KEEPER)
def adopt(request: FarmRequest, plan: str) -> HttpResponse:
    """Make a plan the farm's. What changed meanwhile is shown instead, and nothing is written then."""
    one = read.by_code(request.visit.farm.pk, plan)
    seen = request.POST.get("version", "")
    try:
        entry = plans.adopt(
            request.visit.by, plan_id=one.pk, seen_version=int(seen) if seen.isdecimal() else None
        )
    except (Stale, BadInput) as refused:
        one.refresh_from_db()
        context = views.plan_context(request, one)
        context |= {"refusal": str(refused), "since": getattr(refused, "changes", [])}
        return render(request, "web/plan/page.html", context, status=409)
    said = _("The plan is adopted.") if entry else _("The plan is what was planned already. Nothing changed.")
    messages.success(request, said)
    return redirect("plan-page", plan=plan)
