"""The history: read it, and take a thing back."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.core.paginator import Paginator
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from farm.models import HistoryEntry
from farm.models.member import Role
from farm.queries import history as read
from farm.queries import lookup
from farm.queries.outlook import Trial
from farm.services import history, trials
from farm.web.access import FarmRequest, farm_page
from farm.web.history.forms import FilterForm
from farm.web.history.lines import lines
from farm.web.mishaps import shown_in

_ON_A_PAGE = 30


@require_safe
@farm_page()
def entries(request: FarmRequest) -> HttpResponse:
    """List what was changed, newest first."""
    farm = request.visit.farm
    form = FilterForm(request.GET, farm=farm)
    chosen: dict[str, Any] = form.chosen()
    page = Paginator(read.about(farm, **chosen), _ON_A_PAGE).get_page(request.GET.get("page"))
    kept = request.GET.copy()
    kept.pop("page", None)
    context = {
        "form": form,
        "page": page,
        "rows": lines(farm, page.object_list),
        "kept": kept.urlencode(),
        "ticks_folded": not chosen["ticks"] and not chosen["noun"],
    }
    return render(request, "web/history/history.html", context)


@require_safe
@farm_page()
def entry(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one entry in full and, to a keeper, what undoing it would do."""
    form = forms.Form({})
    trial = None
    found = _entry(request, pk)
    if request.visit.is_keeper and history.can_undo(found):
        with shown_in(form):
            trial = trials.run(request.visit.by, lambda: history.undo(request.visit.by, entry_id=pk))
    return _page(request, found, form, trial)


@require_http_methods(["POST"])
@farm_page(Role.KEEPER)
def undo(request: FarmRequest, pk: int) -> HttpResponse:
    """Take an entry back, or say why that cannot be."""
    form = forms.Form({})
    found = _entry(request, pk)
    with shown_in(form):
        history.undo(request.visit.by, entry_id=pk)
    if form.is_valid():
        messages.success(request, _("Undone: %(what)s") % {"what": found.summary})
        return redirect("history")
    return _page(request, _entry(request, pk), form, None)


def _entry(request: FarmRequest, pk: int) -> HistoryEntry:
    lookup.get(HistoryEntry, farm_id=request.visit.farm.pk, pk=pk)
    return read.entries(request.visit.farm).get(pk=pk)


def _page(request: FarmRequest, found: HistoryEntry, form: forms.Form, trial: Trial | None) -> HttpResponse:
    (row,) = lines(request.visit.farm, [found])
    may = request.visit.is_keeper and row.can_undo and trial is not None
    return render(
        request, "web/history/entry.html", {"row": row, "form": form, "trial": trial, "may_undo": may}
    )
