"""Ticking a line, leaving it out with a reason, opening it again."""

from __future__ import annotations

from typing import Any
from urllib.parse import urlencode

from django import forms
from django.db import transaction
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST

from farm import wording
from farm.errors import BadInput
from farm.models.chore_mark import MarkState
from farm.queries.agenda import Due
from farm.services import asks, chores, photos
from farm.web.access import FarmRequest, Visit, farm_page
from farm.web.today import answering, rounds
from farm.web.today.answering import OccurrenceForm


class MarkForm(OccurrenceForm):
    """What is said of one occurrence; a picture comes beside it."""

    state = forms.ChoiceField(choices=MarkState.choices, required=False)
    note = forms.CharField(max_length=200, required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for a reason where something is left out."""
        found = super().clean() or {}
        if found.get("state") == MarkState.SKIPPED and not found.get("note"):
            self.add_error("note", _("Write why it is left out, in a word or two."))
        return found


@require_POST
@farm_page()
def mark(request: FarmRequest) -> HttpResponse:
    """Mark one line done, or left out with a reason. htmx: the line comes back in place; otherwise the page does."""
    form = MarkForm(request.POST)
    due = answering.find(request.visit, form)
    if not form.is_valid():
        if due is None or "note" not in form.errors:
            raise BadInput.at("", gettext("This chore is not known. Open the page again."))
        text = " ".join(str(one) for one in form.errors["note"])
        return answering.refused(request, form, due, text)
    try:
        _mark(request.visit, form.cleaned_data, due, _picture(request))
    except BadInput as error:
        if due is None:
            raise
        return answering.refused(request, form, due, str(error))
    return _answer(request, form)


@require_POST
@farm_page()
def unmark(request: FarmRequest) -> HttpResponse:
    """Open one line again."""
    form = MarkForm(request.POST)
    if not form.is_valid():
        raise BadInput.at("", gettext("This chore is not known. Open the page again."))
    typed = form.cleaned_data
    chores.unmark(request.visit.by, source=typed["source"], due=typed["due"], round=typed["round"])
    return _answer(request, form)


@require_POST
@farm_page()
def mark_rest(request: FarmRequest) -> HttpResponse:
    """Tick together what is left of one housing in one round; what is looked at singly stays to be ticked."""
    visit = request.visit
    day, key = rounds.day_asked(request.POST.get("day", ""), visit.by.today), request.POST.get("group", "")
    mine = bool(request.POST.get("mine"))
    before = rounds.of_day(visit.farm, visit.member, day, visit.by.now, visit.by.today, mine=mine)
    rest = [line for one in before.rounds for group in one.groups if group.key == key for line in group.rest]
    for line in rest:
        source, due, round = line.occurrence
        chores.mark(visit.by, source=source, due=due, round=round, title=line.title, minutes=line.minutes)
    if not request.htmx:  # type: ignore[attr-defined]
        asked = {"day": day.isoformat()} | ({"open": rest[0].key} if rest else {})
        asked |= answering.mine_of(request)
        return HttpResponseRedirect(f"{reverse('today')}?{urlencode(asked)}#group-{key}")
    work = rounds.of_day(visit.farm, visit.member, day, visit.by.now, visit.by.today, mine=mine)
    ticked = {line.key for line in rest}
    counted = [one for one in work.rounds if any(group.key == key for group in one.groups)]
    now = [line for one in counted for line in one.lines if line.key in ticked]
    context = {"lines": now, "day": day, "work": work, "counted": counted, "mine": mine}
    return render(request, "web/today/rest_ticked.html", context)


def _mark(visit: Visit, typed: dict[str, Any], due: Due | None, picture: bytes) -> None:
    """Mark it, and keep its picture with it. Raises BadInput."""
    state = typed["state"] or MarkState.DONE
    if due is not None and due.open and state == MarkState.DONE:
        text = asks.lacking(due.item.asks, note=typed["note"], picture=bool(picture))
        if text:
            raise BadInput.at("note", text)
    jpeg = photos.small_jpeg(picture) if picture else b""
    with transaction.atomic():
        made = chores.mark(
            visit.by,
            source=typed["source"],
            due=typed["due"],
            round=typed["round"],
            title=wording.say(due.item.title, visit.farm.units) if due else typed["title"],
            state=state,
            note=typed["note"],
            minutes=due.item.minutes if due else 0,
        )
        if jpeg:
            photos.keep(visit.by, made, jpeg)


def _picture(request: FarmRequest) -> bytes:
    file = request.FILES.get("photo")
    return file.read(photos.MOST_BYTES + 1) if file is not None and not isinstance(file, list) else b""


def _answer(request: FarmRequest, form: MarkForm) -> HttpResponse:
    """Return the line as it is now, with its round's sum, or the page it stands on."""
    visit = request.visit
    line, day = answering.line_now(visit, form), answering.page_day(visit, form)
    if not request.htmx:  # type: ignore[attr-defined]
        return answering.back(request, form, line.key)
    work = answering.day_now(visit, form)
    counted = [one for one in work.rounds if line.due == day and one.key == line.round]
    context = answering.context(form, line, day) | {
        "work": work,
        "counted": counted,
        "grouped": line.due == day,
    }
    return render(request, "web/today/swapped.html", context)
