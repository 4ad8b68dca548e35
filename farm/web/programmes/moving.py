"""Moving a batch to another programme version, on purpose and with open eyes."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from farm.models import Batch
from farm.models.member import Role
from farm.queries import lookup
from farm.queries import programmes as read
from farm.queries.outlook import Trial
from farm.services import trials
from farm.web.access import FarmRequest, farm_page
from farm.web.mishaps import shown_in
from farm.web.programmes.forms import MoveForm
from farm.web.programmes.preview import step_changes


@require_http_methods(["GET", "HEAD", "POST"])
@farm_page(Role.KEEPER)
def move(request: FarmRequest, pk: int) -> HttpResponse:
    """Choose a version for a batch, look at what changes, and move it."""
    batch = lookup.get(Batch, farm_id=request.visit.farm.pk, pk=pk)
    choices = read.versions_for(batch)
    if request.method != "POST":
        first = {"version": batch.version, "to": request.GET.get("to", "")}
        form = MoveForm(farm=request.visit.farm, choices=choices, initial=first)
        return _page(request, batch, form, None)
    form = MoveForm(request.POST, farm=request.visit.farm, choices=choices)
    trial = None
    if form.is_valid():
        to, seen = form.cleaned_data["to"], form.cleaned_data["seen"]
        if "save" in request.POST and to == seen:
            with shown_in(form):
                moved = trials.follow(
                    request.visit.by, batch_id=pk, choice=to, expected_version=form.seen_version
                )
            if form.is_valid():
                said = {"batch": moved, "version": moved.programme_version}
                messages.success(request, _("%(batch)s now follows %(version)s.") % said)
                return redirect("batch", pk=pk)
        else:
            with shown_in(form):
                trial = trials.move(
                    request.visit.by, batch_id=pk, choice=to, expected_version=form.seen_version
                )
            if trial is not None:
                form.look_again()
        if trial is None:
            form.see_again(lookup.get(Batch, farm_id=batch.farm_id, pk=pk).version)
    return _page(request, batch, form, trial)


def _page(request: FarmRequest, batch: Batch, form: MoveForm, trial: Trial | None) -> HttpResponse:
    changes = step_changes(trial, [batch]) if trial else []
    context = {"batch": batch, "form": form, "trial": trial, "changes": changes}
    return render(request, "web/programmes/move.html", context)
