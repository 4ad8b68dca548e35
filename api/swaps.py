"""Swaps: a member offers another one of their rounds, for one of theirs or for nothing."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from django.db.models import Q, QuerySet
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In
from api.models import Scope
from farm.errors import BadInput
from farm.models import Swap
from farm.models.chore_mark import Round
from farm.models.member import Role
from farm.models.rota import SwapState
from farm.queries import lookup
from farm.services import swaps
from farm.wording import say

router = Router(tags=["Rota"])


class Turn(Schema):
    """One round of a day."""

    day: Day
    round: Round


class SwapOut(Schema):
    """One swap. take: what is asked in return; null for nothing."""

    id: int
    giver_id: int
    giver: str
    taker_id: int
    taker: str
    give: Turn
    take: Turn | None
    state: SwapState
    offered_at: datetime
    answered_at: datetime | None


class TurnIn(In):
    """One round of a day."""

    day: Day
    round: Round


class NewSwap(In):
    """What is offered to whom, and what is asked in return."""

    taker_id: Id
    give: TurnIn = Field(description="The round you give away.")
    take: TurnIn | None = Field(None, description="The round of theirs you take instead.")


class Accepted(Schema):
    """A swap agreed to. wishes: what those who get work did not wish for; it holds all the same."""

    swap: SwapOut
    wishes: list[str]


class Wanted(pages.Paging):
    """Which swaps."""

    state: SwapState | None = None
    member: Id | None = Field(None, description="Offered by or to this member.")


@router.get("/", response=Page[SwapOut])
@needs(Role.CHILD, Scope.READ)
def list_swaps(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List swaps: keepers see all, others those offered by or to them."""
    rows = _seen(request).select_related("giver", "taker")
    if query.state is not None:
        rows = rows.filter(state=query.state)
    if query.member is not None:
        rows = rows.filter(Q(giver_id=query.member) | Q(taker_id=query.member))
    return pages.of(rows, query, shape)


@router.post("/", response={201: SwapOut})
@needs(Role.CHILD, Scope.WRITE)
def offer_swap(request: ApiRequest, new: NewSwap) -> Status:
    """Offer a member what you have in one round."""
    try:
        swap = swaps.offer(
            request.caller.by,
            taker_id=new.taker_id,
            give=(new.give.day, new.give.round.value),
            take=None if new.take is None else (new.take.day, new.take.round.value),
        )
    except BadInput as refused:
        ours = {"taker": "taker_id"}
        raise BadInput({ours.get(name, name): texts for name, texts in refused.fields.items()}) from refused
    request.location = f"{request.path}{swap.pk}/"
    return Status(201, shape(swap))


@router.get("/{swap_id}/", response=SwapOut)
@needs(Role.CHILD, Scope.READ)
def get_swap(request: ApiRequest, swap_id: Id) -> dict[str, Any]:
    """Return one swap."""
    found = _seen(request).filter(pk=swap_id).exists()
    return _whole(request, swap_id if found else None)


@router.post("/{swap_id}/accept/", response=Accepted)
@needs(Role.CHILD, Scope.WRITE)
def accept_swap(request: ApiRequest, swap_id: Id) -> dict[str, Any]:
    """Agree to a swap that was offered to you: exactly what both have in those rounds now changes hands."""
    wishes = swaps.accept(request.caller.by, swap_id=swap_id)
    return {
        "swap": _whole(request, swap_id),
        "wishes": [say(each, request.caller.farm.units) for each in wishes],
    }


@router.post("/{swap_id}/decline/", response=SwapOut)
@needs(Role.CHILD, Scope.WRITE)
def decline_swap(request: ApiRequest, swap_id: Id) -> dict[str, Any]:
    """Say no to a swap that was offered to you."""
    swaps.decline(request.caller.by, swap_id=swap_id)
    return _whole(request, swap_id)


@router.post("/{swap_id}/withdraw/", response=SwapOut)
@needs(Role.CHILD, Scope.WRITE)
def withdraw_swap(request: ApiRequest, swap_id: Id) -> dict[str, Any]:
    """Take your offer back."""
    swaps.withdraw(request.caller.by, swap_id=swap_id)
    return _whole(request, swap_id)


def shape(swap: Swap) -> dict[str, Any]:
    """Return a swap, its people read along."""
    own = ("id", "giver_id", "taker_id", "state", "offered_at", "answered_at")
    return {name: getattr(swap, name) for name in own} | {
        "giver": swap.giver.name,
        "taker": swap.taker.name,
        "give": {"day": swap.give_day, "round": swap.give_round},
        "take": None if swap.take_day is None else {"day": swap.take_day, "round": swap.take_round},
    }


def _seen(request: ApiRequest) -> QuerySet[Swap]:
    """Return the swaps the caller is shown: a keeper all."""
    caller = request.caller
    rows = Swap.objects.filter(farm=caller.farm)
    return (
        rows
        if caller.member.role == Role.KEEPER
        else rows.filter(Q(giver=caller.member) | Q(taker=caller.member))
    )


def _whole(request: ApiRequest, swap_id: int | None) -> dict[str, Any]:
    return shape(lookup.get(Swap, farm_id=request.caller.farm.pk, pk=swap_id))
