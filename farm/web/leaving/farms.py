"""Closing a farm, what its members see then, and keeping it after all."""

from __future__ import annotations

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from farm.models.member import Role
from farm.services.farewell import farms
from farm.web.access import FarmRequest, farm_page
from farm.web.forms import FarmForm
from farm.web.mishaps import shown_in


class CloseForm(FarmForm):
    """The farm's name, typed to mean it."""

    name = forms.CharField(
        label=gettext_lazy("Name of the farm"),
        max_length=80,
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def close(request: FarmRequest) -> HttpResponse:
    """Say what goes, ask for the farm's name, then close it."""
    form = CloseForm(request.POST if request.method == "POST" else None, farm=request.visit.farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            farms.close(request.visit.by, **form.values())
        if form.is_valid():
            return redirect("farm-closed")
    return render(request, "web/leaving/close.html", {"form": form, "days": farms.GRACE_DAYS})


@require_safe
@farm_page(closed=True)
def closed(request: FarmRequest) -> HttpResponse:
    """Say that the farm is closed and until when it can be kept; from an open farm, go to today."""
    if request.visit.farm.closing_on is None:
        return redirect("today")
    return render(request, "web/leaving/closed.html")


@require_POST
@farm_page(Role.KEEPER, closed=True)
def keep(request: FarmRequest) -> HttpResponse:
    """Open the farm again."""
    farms.keep(request.visit.by)
    messages.success(request, _("%(farm)s is open again, as it was.") % {"farm": request.visit.farm})
    return redirect("today")
