"""Chicks from elsewhere: the list, one intake with its hours since the hatch, and the check-in when they arrive."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import ngettext
from django.views.decorators.http import require_http_methods, require_safe

from farm.husbandry import incubation
from farm.models import Intake, Supplier
from farm.models.batch import Sex
from farm.models.intake import IntakeState, Way
from farm.models.member import Role
from farm.queries import hatch_rates, lookup, programmes
from farm.services import intakes
from farm.trade.general import figure, general
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.hatching.intake_forms import ArrivalForm, IntakeEditForm, IntakeForm
from farm.web.help.pieces import cited
from farm.web.mishaps import shown_in

_BOTH = ["GET", "POST"]
_LATEST = 12  # intakes that are over and shown


@dataclass(frozen=True, slots=True)
class Yolk:
    """How long chicks live on their yolk. hatched: the hatch is over. hours: from it to their arrival, or to now.

    feed_by: the instant by which they must have eaten. late: that has passed, or they came later than they should.
    """

    hatched_at: datetime
    hatched: bool
    hours: int
    feed_by: datetime
    late: bool
    limit_hours: int


@require_safe
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """Show the chicks that are expected, by day, and those that came."""
    rows = list(
        Intake.objects.filter(farm=request.visit.farm).select_related("batch", "programme_version__programme")
    )
    context = {
        "coming": [row for row in rows if row.state == IntakeState.EXPECTED],
        "over": [row for row in reversed(rows) if row.state != IntakeState.EXPECTED][:_LATEST],
        "today": request.visit.by.today,
    }
    return render(request, "web/hatching/intakes.html", context)


@require_safe
@farm_page()
def page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one intake."""
    visit = request.visit
    intake = lookup.get(Intake, farm_id=visit.farm.pk, pk=pk)
    arrival = hatch_rates.arrival(visit.farm, programmes.of_version(intake.programme_version))
    context = {
        "intake": intake,
        "today": visit.by.today,
        "expected": intakes.birds_expected(intake),
        "lost_percent": round(100 * (1 - arrival.chance), 1),
        "yolk": yolk(intake, visit.by.now),
        "cited": cited(general()["incubation"]["travel_hours"].source),
    }
    return render(request, "web/hatching/intake.html", context)


def yolk(intake: Intake, now: datetime) -> Yolk | None:
    """Return how long an intake's chicks live on their yolk; None while nobody knows when they hatched or will."""
    if intake.hatched_at is None or intake.state == IntakeState.CANCELLED:
        return None
    until = intake.arrived_at or max(now, intake.hatched_at)
    hours = (until - intake.hatched_at) // timedelta(hours=1)
    feed_by = incubation.latest_feed(intake.hatched_at)
    return Yolk(
        hatched_at=intake.hatched_at,
        hatched=intake.hatched_at <= now,
        hours=hours,
        feed_by=feed_by,
        late=until > feed_by,
        limit_hours=int(figure("incubation", "travel_hours")),
    )


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Expect chicks."""
    farm, today = request.visit.farm, request.visit.by.today
    only = list(Supplier.objects.filter(farm=farm)[:2])
    start = {"sex": Sex.STRAIGHT_RUN, "way": Way.POST, "extras": 0}
    if len(only) == 1:
        start |= {"supplier_id": only[0].pk, "due_on": today + timedelta(days=only[0].lead_days)}
    form = IntakeForm(request.POST if request.method == "POST" else None, initial=start, farm=farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            intake = intakes.expect(request.visit.by, new=form.new())
        if form.is_valid():
            messages.success(request, _("%(batch)s is on the board.") % {"batch": intake.batch})
            return redirect("intake", intake.pk)
    return render(request, "web/hatching/intake_new.html", {"form": form})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change an intake, for example to a later day."""
    intake = lookup.get(Intake, farm_id=request.visit.farm.pk, pk=pk)
    form = IntakeEditForm(
        request.POST if request.method == "POST" else None,
        initial=IntakeEditForm.stored(intake),
        farm=request.visit.farm,
        intake=intake,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            intakes.change(
                request.visit.by, intake_id=pk, expected_version=form.seen_version, **form.values()
            )
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("intake", pk)
    return render(request, "web/hatching/intake_edit.html", {"form": form, "intake": intake})


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def arrive(request: FarmRequest, pk: int) -> HttpResponse:
    """Count what came: the chicks are a batch from then on."""
    visit = request.visit
    intake = lookup.get(Intake, farm_id=visit.farm.pk, pk=pk)
    if request.method == "GET" and intake.state != IntakeState.EXPECTED:
        return redirect("intake", pk)
    start: dict[str, object] = {"arrived_at": visit.by.now, "version": intake.version}
    if intake.hatched_at is not None and intake.hatched_at <= visit.by.now:
        start["hatched_at"] = intake.hatched_at
    form = ArrivalForm(request.POST if request.method == "POST" else None, initial=start, farm=visit.farm)
    if request.method == "POST" and form.is_valid():
        batch = None
        with shown_in(form):
            batch = intakes.arrive(visit.by, intake_id=pk, expected_version=form.seen_version, **form.found)
        if form.is_valid():
            if batch is None:
                messages.success(request, _("Noted: none came alive."))
                return redirect("intake", pk)
            n = form.found["alive"]
            text = ngettext("%(n)d chick is here: %(batch)s.", "%(n)d chicks are here: %(batch)s.", n)
            messages.success(request, text % {"n": n, "batch": batch})
            return redirect("batch", batch.pk)
    context = {"form": form, "intake": intake, "yolk": yolk(intake, visit.by.now)}
    return render(request, "web/hatching/arrive.html", context)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def cancel(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then cancel an intake."""
    intake = lookup.get(Intake, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: intakes.cancel(request.visit.by, intake_id=pk))
    if done:
        messages.success(request, _("The chicks from %(from)s are cancelled.") % {"from": intake.from_whom})
        return redirect("intakes")
    return render(request, "web/hatching/intake_cancel.html", {"form": form, "intake": intake})
