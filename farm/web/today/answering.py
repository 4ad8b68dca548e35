"""What every button of a line sends, and how it is answered: the line in place with htmx, else its page."""

from __future__ import annotations

from datetime import date
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse

from farm.models import ChoreMark
from farm.models.chore_mark import Round
from farm.queries import agenda
from farm.queries.agenda import Due
from farm.web.access import FarmRequest, Visit
from farm.web.forms import DayField
from farm.web.today import lines, rounds, telling
from farm.web.today.lines import Line
from farm.web.today.rounds import Day


class OccurrenceForm(forms.Form):
    """One occurrence by what identifies it. day: the page it was said on; mine: it shows only the member's own."""

    source = forms.CharField(max_length=120)
    due = DayField()
    round = forms.ChoiceField(choices=Round.choices)
    title = forms.CharField(max_length=200, required=False)
    day = DayField(required=False)
    mine = forms.CharField(max_length=1, required=False)


def find(visit: Visit, form: OccurrenceForm) -> Due | None:
    """Return the occurrence a form is about, None when the agenda has no such one (any more)."""
    form.full_clean()
    typed = form.cleaned_data
    if not {"source", "due", "round"} <= typed.keys():
        return None
    return agenda.find(visit.farm, typed["source"], typed["due"], typed["round"], visit.by.today)


def page_day(visit: Visit, form: OccurrenceForm) -> date:
    """Return the day of the page a form was sent from."""
    return form.cleaned_data.get("day") or form.cleaned_data.get("due") or visit.by.today


def day_now(visit: Visit, form: OccurrenceForm) -> Day:
    """Return that page's day as it is now."""
    mine = bool(form.cleaned_data.get("mine"))
    return rounds.of_day(
        visit.farm, visit.member, page_day(visit, form), visit.by.now, visit.by.today, mine=mine
    )


def line(visit: Visit, due: Due, error: str = "") -> Line:
    """Return one line as the member sees it."""
    tell = telling.read(visit.farm, visit.member, [due], due.item.due, visit.by.today)
    return tell.line(due, error)


def line_now(visit: Visit, form: OccurrenceForm) -> Line:
    """Return the line a form is about as it is now, also when the agenda has it no more."""
    due = find(visit, form)
    if due is not None:
        return line(visit, due)
    typed = form.cleaned_data
    name = {"source": typed["source"], "due": typed["due"], "round": typed["round"]}
    kept = ChoreMark.objects.filter(farm=visit.farm, **name).first()
    if kept is not None:
        return lines.of_mark(kept, visit.member)
    may = lines.may_tick(visit.member, typed["source"])
    return Line(title=typed["title"], item=None, mark=None, may=may, **name)


def refused(request: FarmRequest, form: OccurrenceForm, due: Due, text: str) -> HttpResponse:
    """Answer with the line as it was and why nothing was done."""
    visit = request.visit
    shown = line(visit, due, error=text)
    if request.htmx:  # type: ignore[attr-defined]
        day = page_day(visit, form)
        return render(
            request, "web/today/swapped.html", context(form, shown, day) | {"grouped": shown.due == day}
        )
    messages.error(request, f"{shown.title}: {text}")
    return back(request, form, shown.key)


def context(form: OccurrenceForm, shown: Line, day: date) -> dict[str, Any]:
    """Return what every answer in place is made with."""
    return {"line": shown, "day": day, "mine": bool(form.cleaned_data.get("mine"))}


def back(request: FarmRequest, form: OccurrenceForm, key: str) -> HttpResponseRedirect:
    """Return to the line on its page, its round unfolded, and what stands behind it when the answer came from there."""
    more = {"more": "1"} if request.POST.get("more") else {}
    asked = {"day": page_day(request.visit, form).isoformat(), "open": key} | more | mine_of(request)
    return HttpResponseRedirect(f"{reverse('today')}?{urlencode(asked)}#line-{key}")


def mine_of(request: HttpRequest) -> dict[str, str]:
    """Return what keeps a page to the member's own lines, as part of its address."""
    return {"mine": "1"} if request.POST.get("mine") else {}
