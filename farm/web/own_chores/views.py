"""The list of own chores, adding and changing one, ending and removing it."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from farm.models import OwnChore
from farm.models.member import Role
from farm.queries import lookup
from farm.queries import own_chores as reads
from farm.services import own_chores
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.mishaps import shown_in
from farm.web.own_chores import preview
from farm.web.own_chores.forms import OwnChoreForm

_BOTH = ["GET", "POST"]


@require_safe
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """List the farm's own chores: what, where, how often, when next, who."""
    visit = request.visit
    rows = reads.listed(visit.farm, visit.by.today)
    context = {
        "rows": [row for row in rows if not _ended(row.chore, visit.by.today)],
        "ended": [row for row in rows if _ended(row.chore, visit.by.today)],
    }
    return render(request, "web/own_chores/chores.html", context)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Add a chore; the button "show days" shows when it would be due first."""
    visit = request.visit
    start = {"start": visit.by.today, "minutes": 10, "who": "helper", "round": "morning"}
    form = OwnChoreForm(request.POST if request.method == "POST" else None, initial=start, farm=visit.farm)
    if request.method == "POST" and "look" not in request.POST and form.is_valid():
        with shown_in(form):
            chore = own_chores.add(visit.by, **form.values())
        if form.is_valid():
            messages.success(request, _("“%(chore)s” is on the list.") % {"chore": chore})
            return redirect("own-chores")
    return _form(request, form, visit.by.today)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a chore."""
    visit = request.visit
    chore = lookup.get(OwnChore, farm_id=visit.farm.pk, pk=pk)
    if request.method == "POST":
        form = OwnChoreForm(request.POST, farm=visit.farm)
    else:
        form = OwnChoreForm(initial=OwnChoreForm.stored(chore), farm=visit.farm)
    if request.method == "POST" and "look" not in request.POST and form.is_valid():
        with shown_in(form):
            own_chores.change(visit.by, chore_id=pk, expected_version=form.seen_version, **form.values())
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("own-chores")
    return _form(request, form, max(visit.by.today, chore.begun_on), chore=chore)


@require_POST
@farm_page(Role.KEEPER)
def days(request: FarmRequest) -> HttpResponse:
    """Show on which days the chore being typed would be due."""
    form = OwnChoreForm(request.POST, farm=request.visit.farm)
    context = _looked(form, request.visit.by.today) | {"alone": True}
    return render(request, "web/own_chores/days.html", context)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def end(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then end a chore."""
    chore = lookup.get(OwnChore, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: own_chores.end(request.visit.by, chore_id=pk))
    if done:
        messages.success(request, _("“%(chore)s” has ended.") % {"chore": chore})
        return redirect("own-chores")
    context = {"form": form, "chore": chore, "ticked": reads.ticked(chore)}
    return render(request, "web/own_chores/end.html", context)


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a chore that was never ticked."""
    chore = lookup.get(OwnChore, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: own_chores.remove(request.visit.by, chore_id=pk))
    if done:
        messages.success(request, _("“%(chore)s” is removed.") % {"chore": chore})
        return redirect("own-chores")
    context = {"form": form, "chore": chore, "ticked": reads.ticked(chore)}
    return render(request, "web/own_chores/remove.html", context)


def _form(request: FarmRequest, form: OwnChoreForm, since: date, **more: Any) -> HttpResponse:
    seen = _looked(form, since) if form.is_bound else {"form": form, "looked": False}
    return render(request, "web/own_chores/form.html", seen | more)


def _looked(form: OwnChoreForm, since: date) -> dict[str, Any]:
    # Read from a copy: what a service refused stands in this form's errors and must stay there.
    copy = OwnChoreForm(form.data, farm=form.farm)
    return {"form": form, "looked": True, "preview": preview.of(copy, since), "typed": copy}


def _ended(chore: OwnChore, today: date) -> bool:
    return chore.ended_on is not None and chore.ended_on <= today
