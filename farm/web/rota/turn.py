"""One round of one day: what each has to do, and giving it to somebody else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any
from urllib.parse import urlencode

from django import forms
from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from farm import wording
from farm.errors import BadInput, NotFound
from farm.models import Member
from farm.models.chore_mark import Round
from farm.models.member import Role
from farm.queries import rota as reads
from farm.queries import rounds
from farm.queries.rota import Short, Week, Work
from farm.services import rota
from farm.web.access import FarmRequest, farm_page
from farm.web.forms import DayField
from farm.web.rota.badges import Badge, badges


@dataclass(frozen=True, slots=True)
class Part:
    """What one member, or nobody (None), has to do at one place in the round. may: to whom it can be given."""

    member: Member | None
    badge: Badge | None
    group: str
    works: Sequence[Work]
    may: Sequence[Member]

    @property
    def minutes(self) -> int:
        """Return its minutes."""
        return sum(work.due.item.minutes for work in self.works)

    @property
    def open(self) -> bool:
        """Say whether anything of it is still to do."""
        return any(work.due.open for work in self.works)

    @property
    def fixed(self) -> bool:
        """Say whether somebody decided on it."""
        return any(work.pinned for work in self.works)

    @property
    def key(self) -> str:
        """Return what names it in the page."""
        return f"{self.member.pk if self.member else 'nobody'}-{'-'.join(self.group.lower().split())}"


class GiveForm(forms.Form):
    """What is given to whom. giver: a member's number, empty for what nobody has. group: a place, empty for all."""

    day = DayField()
    round = forms.ChoiceField(choices=Round.choices)
    giver = forms.IntegerField(required=False, min_value=1)
    group = forms.CharField(required=False, max_length=80, strip=False)
    whole = forms.BooleanField(required=False)
    member = forms.IntegerField(required=False, min_value=1)


@require_safe
@farm_page()
def page(request: FarmRequest) -> HttpResponse:
    """Show a round: `?day=2026-05-04&round=morning`; without either, this morning's."""
    form = GiveForm(request.GET or {"day": request.visit.by.today, "round": Round.MORNING})
    form.is_valid()
    if not {"day", "round"} <= form.cleaned_data.keys():
        raise NotFound(_("There is no such round."))
    return _shown(request, form.cleaned_data["day"], form.cleaned_data["round"])


@require_POST
@farm_page(Role.KEEPER)
def give(request: FarmRequest) -> HttpResponse:
    """Give part of a round to a member."""
    typed = _typed(request)
    keys = _occurrences(request, typed)
    if typed["member"] is None:
        return _shown(request, typed["day"], typed["round"], _("Choose who does it."))
    try:
        wishes = rota.give(
            request.visit.by, occurrences=keys, member_id=typed["member"], instead_of=typed["giver"]
        )
    except BadInput as refused:
        return _shown(request, typed["day"], typed["round"], str(refused))
    messages.success(request, _("Given. The rota works around it."))
    for wish in wishes:
        messages.warning(request, wording.say(wish, request.visit.farm.units))
    return _back(typed["day"], typed["round"])


@require_POST
@farm_page(Role.KEEPER)
def let_go(request: FarmRequest) -> HttpResponse:
    """Leave part of a round to the rota again."""
    typed = _typed(request)
    rota.let_go(request.visit.by, occurrences=_occurrences(request, typed))
    messages.success(request, _("Left to the rota again; it may stay as it is."))
    return _back(typed["day"], typed["round"])


def _typed(request: FarmRequest) -> dict[str, Any]:
    form = GiveForm(request.POST)
    if not form.is_valid():
        raise BadInput.at("", _("This round is not known. Open the page again."))
    return form.cleaned_data


def _occurrences(request: FarmRequest, typed: dict[str, Any]) -> list[tuple[str, date, str]]:
    week = reads.week(request.visit.farm, typed["day"], request.visit.by.today)
    return [
        work.due.item.occurrence
        for work in _works(week, typed["day"], typed["round"], typed["giver"])
        if work.due.open and (typed["whole"] or work.group == typed["group"])
    ]


def _works(week: Week, day: date, name: str, member: int | None) -> Sequence[Work]:
    if member is None:
        return week.nobody.get((day, name), ())
    return week.cells.get((day, name, member), ())


def _shown(request: FarmRequest, day: date, name: str, refused: str = "") -> HttpResponse:
    week = reads.week(request.visit.farm, day, request.visit.by.today)
    context = {
        "day": day,
        "round": name,
        "label": Round(name).label,
        "parts": _parts(week, day, name),
        "week": week,
        "short": _short(week, day, name),
        "refused": refused,
        "rules": reads.rules(request.visit.farm),
        "is_past": day < request.visit.by.today,
    }
    return render(request, "web/rota/turn.html", context, status=422 if refused else 200)


def _short(week: Week, day: date, name: str) -> list[Short]:
    """Return why nobody does some of the round, as far as the last rota knew."""
    keys = (work.due.item.occurrence for work in week.nobody.get((day, name), ()))
    return [week.why[key] for key in keys if key in week.why]


def _parts(week: Week, day: date, name: str) -> list[Part]:
    """Return the round by person and place, what nobody does first."""
    marks = badges(week.members)
    found = []
    for member in (None, *week.members):
        by_group: dict[str, list[Work]] = {}
        for work in _works(week, day, name, member.pk if member else None):
            by_group.setdefault(work.group, []).append(work)
        for group, works in by_group.items():
            found.append(
                Part(
                    member,
                    marks[member.pk] if member else None,
                    group,
                    works,
                    _able(week, day, works, member),
                )
            )
    return found


def _able(week: Week, day: date, works: Sequence[Work], giver: Member | None) -> list[Member]:
    return [
        member
        for member in week.members
        if member.left_on is None
        and (giver is None or member.pk != giver.pk)
        and (member.pk, day) not in week.away
        and all(rounds.may_do(member, work.due.item) for work in works)
    ]


def _back(day: date, name: str) -> HttpResponse:
    return HttpResponseRedirect(
        f"{reverse('rota-round')}?{urlencode({'day': day.isoformat(), 'round': name})}"
    )
