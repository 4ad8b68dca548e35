"""The names that orders are under, and forgetting one of them."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from farm.models.member import Role
from farm.queries import orders as read
from farm.services import customers
from farm.web.access import FarmRequest, farm_page
from farm.web.forms import FarmForm
from farm.web.mishaps import shown_in


class ForgetForm(FarmForm):
    """Whose name is to be forgotten."""

    customer = forms.CharField(max_length=80, widget=forms.HiddenInput)


@require_safe
@farm_page(Role.HELPER)
def listing(request: FarmRequest) -> HttpResponse:
    """Show the customers by alphabet."""
    return render(request, "web/orders/customers.html", {"customers": read.customers(request.visit.farm)})


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def forget(request: FarmRequest) -> HttpResponse:
    """Ask first, saying what it does, then put a code in place of a customer's name."""
    name = request.GET.get("customer", "")
    if request.method == "GET" and not name:
        return redirect("customers")
    form = ForgetForm(
        request.POST if request.method == "POST" else None,
        initial={"customer": name},
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            code = customers.forget(request.visit.by, customer=form.cleaned_data["customer"])
        if form.is_valid():
            messages.success(
                request, _("The name is forgotten. The orders are under “%(code)s” now.") % {"code": code}
            )
            return redirect("customers")
    context = {"form": form, "name": form["customer"].value() or ""}
    return render(request, "web/orders/forget.html", context)
