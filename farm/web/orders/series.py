"""Orders that repeat: the list, one with its orders and what it takes of the housing, changing and ending it."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from farm.models import Housing, OrderSeries
from farm.models.member import Role
from farm.planning.rhythm import Rhythm
from farm.queries import allotments, lookup, rhythms
from farm.queries import orders as read
from farm.services import series as write
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.mishaps import shown_in
from farm.web.orders import ages, fields, views
from farm.web.orders.series_forms import EndForm, SeriesForm

_BOTH = ["GET", "POST"]


@require_safe
@farm_page(Role.HELPER)
def listing(request: FarmRequest) -> HttpResponse:
    """Show the orders that repeat."""
    rows = read.series(request.visit.farm, request.visit.by.today)
    context = {"rows": [(row, _ages(row.series)) for row in rows]}
    return render(request, "web/orders/series_list.html", context)


@require_safe
@farm_page(Role.HELPER)
def page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one series; `?housing=3` works out how many such housings it takes."""
    farm, today = request.visit.farm, request.visit.by.today
    series = lookup.get(OrderSeries, farm_id=farm.pk, pk=pk)
    row = next(row for row in read.series(farm, today) if row.series.pk == pk)
    numbers = {order.pk for order in row.orders}
    sure = allotments.confidence(farm)
    housing = lookup.get_or_none(Housing, farm_id=farm.pk, pk=request.GET.get("housing"))
    found: list[Any] = [
        (one, [views.line_shown(line, sure) for line in one.lines])
        for one in read.listing(farm, today, read.EVERY)
        if one.order.pk in numbers
    ]
    context = {
        "row": row,
        "series": series,
        "ages": _ages(series),
        "orders": sorted(found, key=lambda pair: pair[0].order.series_on),
        "today": today,
        "housings": Housing.objects.filter(farm=farm),
        "housing": housing,
        "rhythm": _rhythm(series, housing),
    }
    return render(request, "web/orders/series.html", context)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Take an order that repeats."""
    farm = request.visit.farm
    form = SeriesForm(
        request.POST if request.method == "POST" else None,
        initial=fields.last_line(farm) | {"window_days": 3},
        farm=farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            given = form.new()
            series = write.add(request.visit.by, new=given)
        if form.is_valid():
            messages.success(
                request, _("The repeating order of %(customer)s is taken.") % {"customer": series}
            )
            return redirect("series-page", series.pk)
    return _form(request, form, None)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change all orders of a series still to come."""
    series = lookup.get(OrderSeries, farm_id=request.visit.farm.pk, pk=pk)
    form = SeriesForm(
        request.POST if request.method == "POST" else None,
        initial=SeriesForm.stored(series),
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            write.change(request.visit.by, series_id=pk, expected_version=form.seen_version, **form.values())
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("series-page", pk)
    return _form(request, form, series)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def end(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask for the last day, then end a series there."""
    series = lookup.get(OrderSeries, farm_id=request.visit.farm.pk, pk=pk)
    form = EndForm(
        request.POST if request.method == "POST" else None,
        initial={"last_on": _last_given(series, request.visit.by.today), "version": series.version},
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            write.end(request.visit.by, series_id=pk, expected_version=form.seen_version, **form.values())
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("series-page", pk)
    return render(request, "web/orders/series_end.html", {"form": form, "series": series})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a series with its orders still to come."""
    series = lookup.get(OrderSeries, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: write.remove(request.visit.by, series_id=pk))
    if done:
        messages.success(request, _("The repeating order of %(customer)s is removed.") % {"customer": series})
        return redirect("series")
    row = next(row for row in read.series(request.visit.farm, request.visit.by.today) if row.series.pk == pk)
    return render(request, "web/orders/series_remove.html", {"form": form, "series": series, "row": row})


def _form(request: FarmRequest, form: SeriesForm, series: OrderSeries | None) -> HttpResponse:
    context = {"form": form, "series": series, "customers": views.customers(request.visit.farm)}
    return render(request, "web/orders/series_form.html", context)


def _ages(series: OrderSeries) -> str:
    return ages.span(series.age_from_days, series.age_to_days)


def _rhythm(series: OrderSeries, housing: Housing | None) -> Rhythm | None:
    return rhythms.of_series(series, housing) if housing is not None else None


def _last_given(series: OrderSeries, today: date) -> date:
    """Return the last of its days that has passed, to end it there; its first while none has."""
    return max((day for day in write.days(series) if day <= today), default=series.first_on)
