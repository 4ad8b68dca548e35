"""Swaps on the personal page: what somebody asks of me, what I asked of others, and a round of mine to offer."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django.contrib import messages
from django.http import HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farm import wording
from farm.errors import BadInput
from farm.models import Assignment, Member, Swap
from farm.models.chore_mark import Round
from farm.models.rota import SwapState
from farm.services import swaps
from farm.services.swaps import Turn
from farm.web.access import FarmRequest, farm_page
from farm.web.my.doors import Door

OFFER_DAYS = 14  # how far ahead rounds are listed to be offered; project default (judgement)


@dataclass(frozen=True, slots=True)
class Choice:
    """A round one may choose: as the form sends it, and in words."""

    value: str
    label: str


@dataclass(frozen=True, slots=True)
class Swaps:
    """Open swaps of a member. asked: to be answered. offered: waiting for others. mine: rounds that may be offered.

    people: to whom. rounds: of a day, to ask for one in return.
    """

    asked: Sequence[Swap]
    offered: Sequence[Swap]
    mine: Sequence[Choice]
    people: Sequence[Member]
    rounds: Sequence[tuple[str, Any]]


def of(door: Door) -> Swaps:
    """Return the swaps shown to whoever came in by `door`."""
    today = door.by.today
    still_open = Swap.objects.filter(farm=door.farm, state=SwapState.OFFERED, give_day__gte=today)
    still_open = still_open.select_related("giver", "taker")
    turns = (
        Assignment.objects.filter(farm=door.farm, member=door.member, day__gte=today)
        .filter(day__lt=today + timedelta(days=OFFER_DAYS))
        .values_list("day", "round")
        .distinct()
    )
    in_order = sorted(turns, key=lambda turn: (turn[0], Round.values.index(turn[1])))
    return Swaps(
        asked=[swap for swap in still_open if swap.taker_id == door.member.pk],
        offered=[swap for swap in still_open if swap.giver_id == door.member.pk],
        mine=[Choice(f"{day.isoformat()} {name}", _turn(day, name)) for day, name in in_order],
        people=list(Member.objects.filter(farm=door.farm, left_on__isnull=True).exclude(pk=door.member.pk)),
        rounds=Round.choices,
    )


@require_POST
@farm_page()
def offer(request: FarmRequest) -> HttpResponse:
    """Offer one of my rounds to somebody, for one of theirs or for nothing."""
    typed = request.POST
    taker = typed.get("taker", "")

    def act() -> str:
        swap = swaps.offer(
            request.visit.by,
            taker_id=int(taker) if taker.isdecimal() and len(taker) < 16 else 0,
            give=_given(typed.get("give", "")),
            take=_taken(typed.get("take_day", ""), typed.get("take_round", "")),
        )
        return _("%(member)s is asked.") % {"member": swap.taker}

    return _said(request, act)


@require_POST
@farm_page()
def answer(request: FarmRequest, pk: int, answer: str) -> HttpResponse:
    """Answer an open swap: accept or decline one that was offered to me, withdraw one of mine."""
    by, farm = request.visit.by, request.visit.farm

    def accept() -> str:
        wishes = swaps.accept(by, swap_id=pk)
        return " ".join([_("Agreed."), *(f"{wording.say(each, farm.units)}." for each in wishes)])

    def decline() -> str:
        swaps.decline(by, swap_id=pk)
        return _("You said no.")

    def withdraw() -> str:
        swaps.withdraw(by, swap_id=pk)
        return _("The offer is taken back.")

    return _said(request, {"accept": accept, "decline": decline, "withdraw": withdraw}[answer])


def _said(request: FarmRequest, act: Callable[[], str]) -> HttpResponse:
    try:
        messages.success(request, act())
    except BadInput as refused:
        messages.error(request, str(refused))
    return HttpResponseRedirect(f"{reverse('my')}#swaps")


def _given(text: str) -> Turn:
    """Return the round chosen as "2026-05-01 morning". Raises BadInput."""
    day, _space, name = text.partition(" ")
    try:
        return date.fromisoformat(day), name
    except ValueError as unreadable:
        raise BadInput.at("give", _("Choose one of your rounds.")) from unreadable


def _taken(day: str, name: str) -> Turn | None:
    if not day:
        return None
    try:
        return date.fromisoformat(day), name
    except ValueError as unreadable:
        raise BadInput.at("take", _("Choose a day.")) from unreadable


def _turn(day: date, name: str) -> str:
    return _("%(day)s, %(round)s") % {"day": wording.day(day), "round": Round(name).label}
