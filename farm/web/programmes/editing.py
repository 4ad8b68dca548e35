"""Editing an own programme: type, look at what changes, save as a new version."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, field
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from farm.errors import BadInput, Stale
from farm.models import Batch
from farm.models.member import Role
from farm.queries import programmes as read
from farm.queries.outlook import Trial
from farm.services import trials
from farm.trade import load
from farm.web.access import FarmRequest, farm_page
from farm.web.programmes import charts, citing, tables
from farm.web.programmes.forms import EditForm
from farm.web.programmes.preview import BatchChange, step_changes
from farm.web.programmes.sheet import Sheet


@dataclass(slots=True)
class _Edit:
    """One edit on its way: what is shown, what was typed, and what it would change."""

    shown: read.Shown
    sheet: Sheet
    form: EditForm
    followers: list[Batch]
    trial: Trial | None = None
    drawn: list[charts.Chart] = field(default_factory=list)
    differences: list[tables.Difference] = field(default_factory=list)
    batches: list[BatchChange] = field(default_factory=list)


@require_http_methods(["GET", "HEAD", "POST"])
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, key: str) -> HttpResponse:
    """Show the tables to type in, what changes, and save it."""
    farm = request.visit.farm
    shown = read.shown(farm.pk, key)
    if not shown.own:
        messages.info(request, _("Built-in programmes stay as they are. Copy this one and edit the copy."))
        return redirect("programme", key=key)
    followers = read.followers(shown.row)
    if request.method != "POST":
        assert shown.version is not None
        form = EditForm(farm=farm, followers=followers, initial={"number": shown.version.number})
        return _page(request, _Edit(shown, Sheet(shown.programme, farm.units), form, followers))
    form = EditForm(request.POST, farm=farm, followers=followers)
    if not form.is_valid() and "number" in form.errors:
        return redirect("programme-edit", key=key)
    base = read.shown(farm.pk, key, form.cleaned_data["number"]).programme
    one = _Edit(shown, Sheet(base, farm.units, request.POST), form, followers)
    if "add" in request.POST:
        one.sheet.add(request.POST["add"])
    elif "drop" in request.POST:
        one.sheet.drop(request.POST["drop"])
    elif form.is_valid() and _go_on(request, one):
        messages.success(request, _("Saved as a new version."))
        return redirect("programme", key=key)
    return _page(request, one)


def _go_on(request: FarmRequest, one: _Edit) -> bool:
    """Look at what changes, or save it when that was looked at. Returns whether it was saved."""
    content = one.sheet.content()
    if one.sheet.wrong:
        return False
    seen = _digest(content, one.form)
    saving = "save" in request.POST and one.form.cleaned_data["seen"] == seen
    try:
        if saving:
            _save(request, one, content)
            return True
        _look(request, one, content)
        if "save" in request.POST:
            one.form.add_error(None, _("This is not what you looked at. Look once more, then save."))
        one.form.say(seen=seen)
    except BadInput as refused:
        for text in one.sheet.refused(refused.fields):
            one.form.add_error(None, text)
    except Stale as refused:
        for text in (str(refused), *refused.changes):
            one.form.add_error(None, text)
        one.form.say(over=str(one.shown.versions[0].number), seen="")
    return False


def _save(request: FarmRequest, one: _Edit, content: dict[str, Any]) -> None:
    assert one.shown.row is not None
    trials.edit_and_move(
        request.visit.by,
        programme_id=one.shown.row.pk,
        content=content,
        note=one.form.cleaned_data["note"],
        expected_number=one.form.expected_number,
        batch_ids=one.form.moved(),
    )


def _look(request: FarmRequest, one: _Edit, content: dict[str, Any]) -> None:
    assert one.shown.row is not None
    moved = one.form.moved() or [batch.pk for batch in one.followers]
    one.trial = trials.edit(
        request.visit.by,
        programme_id=one.shown.row.pk,
        content=content,
        expected_number=one.form.expected_number,
        batch_ids=moved,
    )
    new = load.from_dict({**load.to_dict(one.shown.programme), **content})
    system = request.visit.farm.units
    one.drawn = charts.compared(one.shown.programme, new, system)
    one.differences = tables.differences(one.shown.programme, new, system)
    one.batches = step_changes(one.trial, [batch for batch in one.followers if batch.pk in moved])


def _digest(content: dict[str, Any], form: EditForm) -> str:
    said = [content, form.moved(), form.expected_number]
    return hashlib.sha256(json.dumps(said, sort_keys=True).encode()).hexdigest()


def _page(request: FarmRequest, one: _Edit) -> HttpResponse:
    context = {
        "edit": one,
        "shown": one.shown,
        "form": one.form,
        "trial": one.trial,
        "sources": citing.known(),
        "wrong": [table for table in one.sheet.tables if table.wrong],
    }
    return render(request, "web/programmes/edit.html", context)
