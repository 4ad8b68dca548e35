"""Putting a line off to another day or round, and bringing it back."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farm import wording
from farm.errors import BadInput
from farm.models.chore_mark import Round
from farm.queries.agenda import Due
from farm.services import postponing
from farm.web.access import FarmRequest, farm_page
from farm.web.forms import DayField
from farm.web.today import answering
from farm.web.today.answering import OccurrenceForm
from farm.web.today.lines import Line
from farm.web.today.rounds import Day
from farm.web.today.rounds import Round as DayRound


class PutOffForm(OccurrenceForm):
    """Where one occurrence goes, and why. An unreadable day or round is refused at the line, like one that can't be."""

    to_due = DayField(required=False)
    to_round = forms.CharField(max_length=8, required=False)
    reason = forms.CharField(max_length=200, required=False)


@require_POST
@farm_page()
def put_off(request: FarmRequest) -> HttpResponse:
    """Put one line off. htmx: the line comes back in place, saying where it went; otherwise its page does."""
    form = PutOffForm(request.POST)
    due = _known(request, form)
    typed = form.cleaned_data
    try:
        if typed.get("to_due") is None:
            raise BadInput.at("to_due", _("Choose a day."))
        postponing.put_off(
            request.visit.by,
            **_occurrence(due),
            to_due=typed["to_due"],
            to_round=typed.get("to_round", ""),
            reason=typed.get("reason", ""),
        )
    except BadInput as error:
        return answering.refused(request, form, due, str(error))
    line = answering.line_now(request.visit, form)
    said = _("Put off to %(day)s, %(round)s.")
    return _answer(request, form, due, line, said % _where(line))


@require_POST
@farm_page()
def bring_back(request: FarmRequest) -> HttpResponse:
    """Bring one line back to the day and round it was first due."""
    form = PutOffForm(request.POST)
    due = _known(request, form)
    postponing.bring_back(request.visit.by, **_occurrence(due))
    line = answering.line_now(request.visit, form)
    return _answer(request, form, due, line, _("Back on %(day)s, %(round)s.") % _where(line))


def _known(request: FarmRequest, form: PutOffForm) -> Due:
    due = answering.find(request.visit, form)
    if due is None:
        raise BadInput.at("", _("This chore is not known. Open the page again."))
    return due


def _occurrence(due: Due) -> dict[str, Any]:
    source, first, round = due.item.occurrence
    return {"source": source, "due": first, "round": round}


def _where(line: Line) -> dict[str, object]:
    return {"day": wording.day(line.due), "round": line.round_name}


def _answer(request: FarmRequest, form: PutOffForm, before: Due, line: Line, said: str) -> HttpResponse:
    """Return the line, still where it stood until the page is opened again, or the page."""
    visit, day = request.visit, answering.page_day(request.visit, form)
    if not request.htmx:  # type: ignore[attr-defined]
        messages.success(request, f"{line.title}: {said}")
        return answering.back(request, form, line.key)
    work = answering.day_now(visit, form)
    stood = before.item.round if before.item.due == day else None
    context = answering.context(form, line, day) | {
        "work": work,
        "said": said,
        "grouped": stood is not None,
        "left": _left(work, stood),
        "joined": [one for one in work.rounds if one.key != stood and _was_there(one, line)],
    }
    return render(request, "web/today/moved.html", context)


def _left(work: Day, stood: str | None) -> DayRound | None:
    """Return the round a line stood in as it is now: an empty one when it was its last."""
    if stood is None:
        return None
    empty = DayRound(key=stood, label=str(Round(stood).label), lines=(), current=False, opened=True)
    return next((one for one in work.rounds if one.key == stood), empty)


def _was_there(one: DayRound, line: Line) -> bool:
    """Say whether a round has anything besides the line: only then the page has it."""
    return any(other.key != line.key for other in one.lines)
