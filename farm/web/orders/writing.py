"""Taking an order, changing it, and what becomes of it."""

from __future__ import annotations

from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from farm.models import Farm, Order
from farm.models.member import Role
from farm.models.order import OrderStatus
from farm.queries import lookup
from farm.queries import orders as read
from farm.services import orders
from farm.services.order_fields import NewOrder
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.forms import VersionedForm
from farm.web.mishaps import shown_in
from farm.web.orders import fields, forms, looking, views
from farm.web.orders.forms import Lines, OrderEditForm, OrderForm

_BOTH = ["GET", "POST"]


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Take an order. In what is posted, `more` asks for another line, and `look` how it would stand."""
    farm = request.visit.farm
    start = {"status": OrderStatus.CONFIRMED, "customer": request.GET.get("customer", "")}
    form, lines = _opened(request, OrderForm, start, [fields.last_line(farm)])
    if _saving(request) and form.is_valid() & lines.is_valid():
        with lines.refused_in(form):
            typed = [line.line() for line in lines.used]
            made = {name: value for name, value in form.values().items() if name != "ordered_on"}
            order = orders.add(
                request.visit.by,
                new=NewOrder(lines=typed, ordered_on=form.cleaned_data["ordered_on"], **made),
            )
        if form.is_valid() and lines.is_valid():
            messages.success(request, _("The order of %(customer)s is taken.") % {"customer": order})
            _warn(request, order)
            return redirect("order", order.pk)
    return render(request, "web/orders/new.html", _context(request, form, lines))


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change an order and its lines; one of a series stands by itself from then on."""
    order = lookup.get(Order, farm_id=request.visit.farm.pk, pk=pk)
    form, lines = _opened(request, OrderEditForm, OrderEditForm.stored(order), forms.stored_lines(order))
    if _saving(request) and form.is_valid() & lines.is_valid():
        with lines.refused_in(form):
            orders.change(
                request.visit.by,
                order_id=pk,
                expected_version=form.seen_version,
                lines=[line.line() for line in lines.used],
                **form.values(),
            )
        if form.is_valid() and lines.is_valid():
            messages.success(request, _("Saved."))
            _warn(request, order)
            return redirect("order", pk)
    context = _context(request, form, lines, order)
    return render(request, "web/orders/edit.html", context | {"order": order})


@require_POST
@farm_page(Role.KEEPER)
def status(request: FarmRequest, pk: int) -> HttpResponse:
    """Make an order what its button says: confirmed, a quote, filled although birds lack, open again."""
    form = VersionedForm(request.POST, farm=request.visit.farm)
    form.is_valid()
    order = orders.set_status(
        request.visit.by,
        order_id=pk,
        status=request.POST.get("status", ""),
        expected_version=form.seen_version,
    )
    messages.success(
        request,
        _("The order of %(customer)s is now %(status)s.")
        % {"customer": order, "status": OrderStatus(order.status).label},
    )
    return redirect("order", pk)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def cancel(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then cancel an order."""
    order = lookup.get(Order, farm_id=request.visit.farm.pk, pk=pk)
    form = VersionedForm(
        request.POST if request.method == "POST" else None,
        initial={"version": order.version},
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            orders.set_status(
                request.visit.by,
                order_id=pk,
                status=OrderStatus.CANCELLED,
                expected_version=form.seen_version,
            )
        if form.is_valid():
            messages.success(request, _("The order of %(customer)s is cancelled.") % {"customer": order})
            return redirect("orders")
    row = read.one(request.visit.farm, pk, request.visit.by.today)
    return render(request, "web/orders/cancel.html", {"form": form, "order": order, "row": row})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a quote."""
    order = lookup.get(Order, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: orders.remove(request.visit.by, order_id=pk))
    if done:
        messages.success(request, _("The quote for %(customer)s is removed.") % {"customer": order})
        return redirect("orders")
    return render(request, "web/orders/remove.html", {"form": form, "order": order})


def _saving(request: FarmRequest) -> bool:
    return request.method == "POST" and "more" not in request.POST and "look" not in request.POST


def _opened(
    request: FarmRequest, kind: type[OrderForm], start: dict[str, Any], lines: list[dict[str, Any]]
) -> tuple[OrderForm, Lines]:
    """Return the form and its lines: new, as posted, or with one more line and what was typed, unjudged."""
    farm = request.visit.farm
    if request.method != "POST":
        return kind(initial=start, farm=farm), forms.lines(farm, initial=lines)
    if "more" in request.POST:
        typed = {name: request.POST[name] for name in kind.base_fields if name in request.POST}
        again = forms.lines(farm, initial=forms.typed_lines(request.POST), blank=1)
        return kind(initial=typed, farm=farm), again
    return kind(request.POST, initial=start, farm=farm), forms.lines(farm, request.POST)


def _context(
    request: FarmRequest, form: OrderForm, lines: Lines, order: Order | None = None
) -> dict[str, Any]:
    farm: Farm = request.visit.farm
    looked = None
    if "look" in request.POST and lines.is_valid():
        looked = looking.look(farm, request.visit.by.today, form, lines, order)
    return {
        "form": form,
        "lines": lines,
        "looked": looked,
        "refused": form.is_bound and not form.is_valid() & lines.is_valid(),
        "customers": views.customers(farm),
        "today": request.visit.by.today,
    }


def _warn(request: FarmRequest, order: Order) -> None:
    """Say it once more when birds lack for an order that was just written; its page says why."""
    row = read.one(request.visit.farm, order.pk, request.visit.by.today)
    if any(line.warning for line in row.lines):
        messages.warning(request, _("There are not enough birds for it as things stand. See below why."))
