"""Starting a batch and changing its words and days."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from farm.models import Batch, Housing
from farm.models.member import Role
from farm.queries import lookup
from farm.services import batches
from farm.web.access import FarmRequest, farm_page
from farm.web.batches.forms import BatchEditForm, BatchForm, opening
from farm.web.mishaps import shown_in


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Start a batch; `?housing=3` starts the form with that place."""
    farm = request.visit.farm
    start = opening(farm, request.visit.by.today, request.GET.get("housing", ""))
    form = BatchForm(request.POST if request.method == "POST" else None, initial=start, farm=farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            batch = batches.start(request.visit.by, new=form.new())
        if form.is_valid():
            messages.success(request, _("%(batch)s is on the board.") % {"batch": batch})
            return redirect("batch", batch.pk)
    context = {"form": form, "any_housing": Housing.objects.filter(farm=farm).exists()}
    return render(request, "web/batches/new.html", context)


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a batch."""
    farm = request.visit.farm
    batch = lookup.get(Batch, farm_id=farm.pk, pk=pk)
    form = BatchEditForm(
        request.POST if request.method == "POST" else None, initial=BatchEditForm.stored(batch), farm=farm
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            batches.change(request.visit.by, batch_id=pk, expected_version=form.seen_version, **form.values())
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("batch", pk)
    return render(request, "web/batches/edit.html", {"form": form, "batch": batch})
