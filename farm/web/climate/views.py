"""The climate's page, read by everybody and changed by keepers."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from farm.husbandry.weather_record import Question
from farm.models import Weather
from farm.models.member import Role
from farm.queries import forecasts
from farm.queries import weather as read
from farm.services import weather
from farm.web.access import FarmRequest, farm_page
from farm.web.climate.forms import ChoicesForm, MonthsForm, RecordForm
from farm.web.forms import VersionedForm
from farm.web.mishaps import shown_in
from farm.wording import say


@require_safe
@farm_page()
def climate(request: FarmRequest) -> HttpResponse:
    """Show what is known of the farm's nights and days, and how to say more."""
    return _page(request)


@require_POST
@farm_page(Role.KEEPER)
def months(request: FarmRequest) -> HttpResponse:
    """Take twelve months of numbers."""
    form = MonthsForm(request.POST, farm=request.visit.farm)
    if form.is_valid():
        with shown_in(form):
            weather.enter(request.visit.by, expected_version=form.seen_version, months=form.months())
        if form.is_valid():
            messages.success(request, _("The climate is saved. Dates for going out follow it now."))
            return redirect("climate")
    return _page(request, months_form=form)


@require_POST
@farm_page(Role.KEEPER)
def record(request: FarmRequest) -> HttpResponse:
    """Learn from a table of days; ask what can be read two ways."""
    form = RecordForm(request.POST, request.FILES, farm=request.visit.farm)
    questions: tuple[Question, ...] = ()
    if form.is_valid():
        with shown_in(form):
            lesson = weather.learn(
                request.visit.by,
                text=form.cleaned_data["text"],
                answers=form.answers(),
                expected_version=form.seen_version,
            )
            questions = lesson.questions
        if form.is_valid() and not questions:
            _tell(request, lesson)
            return redirect("climate")
    form.ask(questions)
    return _page(request, record_form=form, questions=questions)


@require_POST
@farm_page(Role.KEEPER)
def choices(request: FarmRequest) -> HttpResponse:
    """Set how sure a night must be, and the forecast."""
    form = ChoicesForm(request.POST, farm=request.visit.farm)
    if form.is_valid():
        with shown_in(form):
            weather.prefer(
                request.visit.by,
                expected_version=form.seen_version,
                confidence=round(form.cleaned_data["sure"] / 100, 4),
                use_forecast=form.cleaned_data["use_forecast"],
            )
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("climate")
    return _page(request, choices_form=form)


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def forget(request: FarmRequest) -> HttpResponse:
    """Ask first, then forget the climate."""
    row = read.stored(request.visit.farm)
    if row is None:
        return redirect("climate")
    posted = request.POST if request.method == "POST" else None
    form = VersionedForm(posted, initial={"version": row.version}, farm=request.visit.farm)
    if posted is not None and form.is_valid():
        with shown_in(form):
            weather.forget(request.visit.by, expected_version=form.seen_version)
        if form.is_valid():
            messages.success(request, _("The climate is forgotten. Age alone decides again."))
            return redirect("climate")
    return render(request, "web/climate/forget.html", {"form": form})


def _tell(request: FarmRequest, lesson: weather.Lesson) -> None:
    messages.success(request, _("The climate is learned from your record."))
    for note in lesson.notes:
        messages.info(request, say(note, request.visit.farm.units))


def _page(request: FarmRequest, **given: Any) -> HttpResponse:
    farm = request.visit.farm
    row = read.stored(farm)
    context = {
        "row": row,
        "years": round(row.learned_years) if row else 0,
        "forecast": forecasts.shown(farm, row, request.visit.by.now),
    } | given
    if request.visit.is_keeper:
        context = _forms(request, row) | context
    elif row is not None:
        context["months_form"] = MonthsForm(initial=MonthsForm.stored(row), farm=farm)
    return render(request, "web/climate/climate.html", context)


def _forms(request: FarmRequest, row: Weather | None) -> dict[str, Any]:
    farm = request.visit.farm
    learning = RecordForm(initial={"version": row and row.version}, farm=farm, auto_id="record-%s")
    learning.ask()
    months = MonthsForm(initial=MonthsForm.stored(row), farm=farm)
    choosing = row and ChoicesForm(initial=ChoicesForm.stored(row), farm=farm, auto_id="choices-%s")
    return {"months_form": months, "record_form": learning, "choices_form": choosing}
