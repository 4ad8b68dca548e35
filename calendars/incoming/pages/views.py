"""Calendars read for days away: listed, added, looked at before they are used, changed, removed."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from calendars.incoming import queries, rows, services
from calendars.incoming.models import OuterCalendar
from calendars.incoming.pages import showing
from calendars.incoming.pages.forms import NewForm, RulesForm
from farm.errors import BadInput
from farm.models import Away
from farm.services import outside_days
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.mishaps import shown_in

_BOTH = ["GET", "POST"]


@never_cache
@require_http_methods(_BOTH)
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """List the calendars a member may see, and add one: it is read at once, and used only after a look at it."""
    visit = request.visit
    form = NewForm(request.POST if request.method == "POST" else None, visit=visit)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            made = services.add(visit.by, **form.values())
        if form.is_valid():
            return redirect("incoming-page", made.pk)
    cards = [{"calendar": row, "failure": showing.failure(row)} for row in queries.seen_by(visit.member)]
    return render(request, "web/incoming/list.html", {"form": form, "rows": cards})


@never_cache
@require_http_methods(["GET"])
@farm_page()
def page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show which days a calendar makes away, or would, and what the rota would become."""
    calendar = rows.of(request.visit.by, pk)
    return _page(request, calendar)


@never_cache
@require_http_methods(_BOTH)
@farm_page()
def change(request: FarmRequest, pk: int) -> HttpResponse:
    """Change what of a calendar counts, after seeing what that makes."""
    visit = request.visit
    calendar = rows.of(visit.by, pk)
    typed = request.POST if request.method == "POST" else None
    initial = RulesForm.stored(calendar)
    form = RulesForm(typed, farm=visit.farm, initial=initial)
    if typed is not None and form.is_valid():
        keep = "keep" in typed
        shown = None
        with shown_in(form):
            if keep:
                services.change(visit.by, calendar_id=pk, expected_version=form.seen_version, **form.values())
            else:
                shown = _would_be(request, calendar, form.values())
        if form.is_valid() and keep:
            messages.success(request, _("“%(name)s” is changed.") % {"name": form.values()["label"]})
            return redirect("incoming-page", pk)
        if shown is not None:
            context = {"calendar": calendar, "form": form, "shown": shown}
            return render(request, "web/incoming/edit_preview.html", context)
    return render(request, "web/incoming/edit.html", {"calendar": calendar, "form": form})


@require_http_methods(["POST"])
@farm_page()
def switch(request: FarmRequest, pk: int) -> HttpResponse:
    """Use a calendar, or use it no longer."""
    calendar = services.switch(request.visit.by, calendar_id=pk, on="on" in request.POST)
    said = _("“%(name)s” is used from now on.") if calendar.on else _("“%(name)s” is not used any more.")
    messages.success(request, said % {"name": calendar.label})
    return redirect("incoming-page", pk)


@require_http_methods(["POST"])
@farm_page()
def again(request: FarmRequest, pk: int) -> HttpResponse:
    """Read a calendar now."""
    try:
        answered = services.again(request.visit.by, calendar_id=pk)
    except BadInput as refused:
        messages.warning(request, str(refused))
    else:
        if answered:
            messages.success(request, _("It was read anew."))
    return redirect("incoming-page", pk)


@require_http_methods(_BOTH)
@farm_page()
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a calendar and the days away it tells of."""
    calendar = rows.of(request.visit.by, pk)
    form, done = ask_first(request, lambda: services.remove(request.visit.by, calendar_id=pk))
    if done:
        messages.success(request, _("“%(name)s” is removed.") % {"name": calendar.label})
        return redirect("incoming")
    return render(request, "web/incoming/remove.html", {"form": form, "calendar": calendar})


def _page(request: FarmRequest, calendar: OuterCalendar) -> HttpResponse:
    context = {
        "calendar": calendar,
        "failure": showing.failure(calendar),
        "shown": showing.of_calendar(request.visit, calendar),
    }
    return render(request, "web/incoming/page.html", context)


def _would_be(request: FarmRequest, calendar: OuterCalendar, chosen: dict[str, Any]) -> showing.Shown:
    visit = request.visit
    reading = services.read_with(visit.by, calendar, **chosen).reading
    there = Away.objects.filter(member_id=calendar.member_id, end__gt=visit.by.today)
    kept = there.exclude(outside=calendar.uid).values_list("start", "end")
    return showing.of_reading(visit, calendar, reading, outside_days.without(reading.spans, kept))
