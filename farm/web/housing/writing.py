"""Adding, changing and removing a housing, and noting what is seen in it."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from farm.models import Housing, Stay
from farm.models.housing import HousingKind
from farm.models.member import Role
from farm.queries import lookup
from farm.services import housings, observations
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.housing.forms import SEEN_FORMS, HousingForm, by_kind, stored
from farm.web.mishaps import shown_in


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Add a housing; `?kind=pen` starts the form with what pens usually have."""
    farm = request.visit.farm
    kind = by_kind(request.GET.get("kind", ""))
    form = HousingForm(request.POST if request.method == "POST" else None, initial=kind, farm=farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            housing = housings.add(request.visit.by, **form.values())
        if form.is_valid():
            messages.success(request, _("%(housing)s is on the board.") % {"housing": housing})
            return redirect("housing-page", housing.pk)
    context = {"form": form, "kinds": HousingKind.choices, "kind": kind["kind"]}
    return render(request, "web/housing/form.html", context)


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a housing."""
    farm = request.visit.farm
    housing = lookup.get(Housing, farm_id=farm.pk, pk=pk)
    form = HousingForm(request.POST if request.method == "POST" else None, initial=stored(housing), farm=farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            housings.change(
                request.visit.by, housing_id=pk, expected_version=form.seen_version, **form.values()
            )
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("housing-page", pk)
    return render(request, "web/housing/form.html", {"form": form, "housing": housing})


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a housing that nothing is recorded of."""
    farm = request.visit.farm
    housing = lookup.get(Housing, farm_id=farm.pk, pk=pk)
    form, done = ask_first(request, lambda: housings.remove(request.visit.by, housing_id=pk))
    if done:
        messages.success(request, _("%(housing)s is removed.") % {"housing": housing})
        return redirect("housing")
    used = Stay.objects.filter(housing=housing).exists()
    return render(request, "web/housing/remove.html", {"form": form, "housing": housing, "used": used})


@require_POST
@farm_page(Role.CHILD)
def observe(request: FarmRequest, pk: int) -> HttpResponse:
    """Record one thing seen in a housing, from its page or its card."""
    farm = request.visit.farm
    housing = lookup.get(Housing, farm_id=farm.pk, pk=pk)
    if request.POST.get("kind") not in SEEN_FORMS:
        raise Http404
    form = SEEN_FORMS[request.POST["kind"]](request.POST, farm=farm)
    if form.is_valid():
        with shown_in(form):
            observations.add(request.visit.by, housing_id=pk, **form.seen())
        if form.is_valid():
            messages.success(request, _("Noted for %(housing)s.") % {"housing": housing})
            if request.POST.get("next") == "card":
                return redirect("housing-card", housing.code)
            return redirect("housing-page", pk)
    return render(request, "web/housing/observe.html", {"form": form, "housing": housing})
