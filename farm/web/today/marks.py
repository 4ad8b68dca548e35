"""Ticking a line, leaving it out with a reason, opening it again."""

from __future__ import annotations

from datetime import date
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_POST

from farm import wording
from farm.errors import BadInput
from farm.models import ChoreMark
from farm.models.chore_mark import MarkState, Round
from farm.queries import agenda
from farm.queries.agenda import Due
from farm.services import chores
from farm.web.access import FarmRequest, Visit, farm_page
from farm.web.forms import DayField
from farm.web.today import lines, rounds
from farm.web.today.lines import Line


class MarkForm(forms.Form):
    """One occurrence and what is said of it; `day` is the page it was said on."""

    source = forms.CharField(max_length=120)
    due = DayField()
    round = forms.ChoiceField(choices=Round.choices)
    title = forms.CharField(max_length=200, required=False)
    state = forms.ChoiceField(choices=MarkState.choices, required=False)
    note = forms.CharField(max_length=200, required=False)
    day = DayField(required=False)

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
    due = _find(request.visit, form)
    if not form.is_valid():
        if due is None or "note" not in form.errors:
            raise BadInput.at("", gettext("This chore is not known. Open the page again."))
        return _refused(request, form, due, " ".join(str(one) for one in form.errors["note"]))
    typed = form.cleaned_data
    try:
        chores.mark(
            request.visit.by,
            source=typed["source"],
            due=typed["due"],
            round=typed["round"],
            title=wording.say(due.item.title, request.visit.farm.units) if due else typed["title"],
            state=typed["state"] or MarkState.DONE,
            note=typed["note"],
            minutes=due.item.minutes if due else 0,
        )
    except BadInput as error:
        if due is None:
            raise
        return _refused(request, form, due, str(error))
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
    """Tick together what is left of one housing in one round; work for adults only stays to be ticked singly."""
    visit = request.visit
    day, key = rounds.day_asked(request.POST.get("day", ""), visit.by.today), request.POST.get("group", "")
    before = rounds.of_day(visit.farm, visit.member, day, visit.by.now, visit.by.today)
    rest = [line for one in before.rounds for group in one.groups if group.key == key for line in group.rest]
    for line in rest:
        chores.mark(
            visit.by,
            source=line.source,
            due=line.due,
            round=line.round,
            title=line.title,
            minutes=line.minutes,
        )
    if not request.htmx:  # type: ignore[attr-defined]
        asked = {"day": day.isoformat()} | ({"open": rest[0].key} if rest else {})
        return HttpResponseRedirect(f"{reverse('today')}?{urlencode(asked)}#group-{key}")
    work = rounds.of_day(visit.farm, visit.member, day, visit.by.now, visit.by.today)
    ticked = {line.key for line in rest}
    counted = [one for one in work.rounds if any(group.key == key for group in one.groups)]
    now = [line for one in counted for line in one.lines if line.key in ticked]
    return render(
        request, "web/today/rest_ticked.html", {"lines": now, "day": day, "work": work, "counted": counted}
    )


def _find(visit: Visit, form: MarkForm) -> Due | None:
    form.full_clean()
    typed = form.cleaned_data
    if not {"source", "due", "round"} <= typed.keys():
        return None
    return agenda.find(visit.farm, typed["source"], typed["due"], typed["round"], visit.by.today)


def _refused(request: FarmRequest, form: MarkForm, due: Due, text: str) -> HttpResponse:
    line = lines.of_due(due, request.visit.member, request.visit.farm.units, error=text)
    if request.htmx:  # type: ignore[attr-defined]
        context = {
            "line": line,
            "day": _day(request.visit, form),
            "grouped": due.item.due == _day(request.visit, form),
        }
        return render(request, "web/today/swapped.html", context)
    messages.error(request, f"{line.title}: {text}")
    return _back(request, _day(request.visit, form), line.key)


def _answer(request: FarmRequest, form: MarkForm) -> HttpResponse:
    """Return the line as it is now, with its round's sum, or the page it stands on."""
    visit, day = request.visit, _day(request.visit, form)
    line = _line_now(visit, form)
    if not request.htmx:  # type: ignore[attr-defined]
        return _back(request, day, line.key)
    work = rounds.of_day(visit.farm, visit.member, day, visit.by.now, visit.by.today)
    counted = [one for one in work.rounds if line.due == day and one.key == line.round]
    context = {"line": line, "day": day, "work": work, "counted": counted, "grouped": line.due == day}
    return render(request, "web/today/swapped.html", context)


def _line_now(visit: Visit, form: MarkForm) -> Line:
    due = _find(visit, form)
    if due is not None:
        return lines.of_due(due, visit.member, visit.farm.units)
    typed = form.cleaned_data
    name = {"source": typed["source"], "due": typed["due"], "round": typed["round"]}
    kept = ChoreMark.objects.filter(farm=visit.farm, **name).first()
    if kept is not None:
        return lines.of_mark(kept, visit.member)
    may = lines.may_tick(visit.member, typed["source"])
    return Line(title=typed["title"], item=None, mark=None, may=may, **name)


def _day(visit: Visit, form: MarkForm) -> date:
    return form.cleaned_data.get("day") or form.cleaned_data.get("due") or visit.by.today


def _back(request: FarmRequest, day: date, key: str) -> HttpResponseRedirect:
    """Return to the line on its page, its round unfolded, and what stands behind it when the answer came from there."""
    more = {"more": "1"} if request.POST.get("more") else {}
    asked = urlencode({"day": day.isoformat(), "open": key} | more)
    return HttpResponseRedirect(f"{reverse('today')}?{asked}#line-{key}")
