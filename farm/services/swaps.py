"""Swaps: a member offers another one of their rounds, for one of theirs or for nothing; the other agrees or not."""

from __future__ import annotations

from datetime import date

from django.db.models import QuerySet
from django.utils.translation import gettext as _

from farm import wording
from farm.errors import BadInput, NotAllowed
from farm.models import Member, Swap
from farm.models.chore_mark import Round
from farm.models.member import Role
from farm.models.rota import SwapState
from farm.phrase import Phrase
from farm.planning.rota.records import RotaJob
from farm.queries import lookup
from farm.services import rota_giving, rota_rules
from farm.services.actor import Actor
from farm.services.reminders.swaps import swap_news
from farm.services.rota_giving import Hand, Standing
from farm.services.writing import Log, write

#: A round of a day: its day and name.
Turn = tuple[date, str]


def offer(by: Actor, *, taker_id: int, give: Turn, take: Turn | None = None) -> Swap:
    """Offer a member what `by` has in one round, for what they have in another, or for nothing.

    Raises BadInput at "taker", "give" or "take", NotAllowed for whoever is no member, NotFound.
    """
    giver = _member(by)
    with write(by, "offer swap", role=Role.CHILD) as log:
        taker = rota_giving.present(log.farm, taker_id)
        if taker.pk == giver.pk:
            raise BadInput.at("taker", _("Choose somebody else."))
        swap = Swap(
            farm=log.farm,
            giver=giver,
            taker=taker,
            give_day=give[0],
            give_round=give[1],
            take_day=take[0] if take else None,
            take_round=take[1] if take else "",
            offered_at=by.now,
        )
        _check_turns(by, swap)
        _hands(log, swap)
        if _same_round(swap).filter(taker=taker).exists():
            raise BadInput.at("taker", _("You have offered %(taker)s this already.") % {"taker": taker})
        log.add(swap)
        log.says(giver, _("%(giver)s offers %(taker)s: %(what)s") % _words(swap))
        swap_news(swap, by.now)
    return swap


def accept(by: Actor, *, swap_id: int) -> tuple[Phrase, ...]:
    """Agree to a swap, and return what those who get work did not wish for; it holds all the same.

    Exactly what both have in those rounds at this moment changes hands, and stays so until a keeper decides otherwise.
    Other offers of the same round end. For whoever was asked, and keepers. Raises BadInput, NotAllowed, NotFound.
    """
    with write(by, "accept swap", role=Role.CHILD) as log:
        swap = _open(by, swap_id)
        _only(by, swap.taker)
        _check_turns(by, swap)
        now, hands = _hands(log, swap)
        found = rota_giving.hand(log, now, hands)
        log.change(swap, state=SwapState.ACCEPTED, answered_at=by.now)
        for other in _same_round(swap):
            log.change(other, state=SwapState.WITHDRAWN, answered_at=by.now)
        log.says(swap.taker, _("%(taker)s does it for %(giver)s: %(what)s") % _words(swap))
        swap_news(swap, by.now)
    return found


def decline(by: Actor, *, swap_id: int) -> Swap:
    """Say no to a swap. For whoever was asked, and keepers. Raises BadInput, NotAllowed, NotFound."""
    with write(by, "decline swap", role=Role.CHILD) as log:
        swap = _open(by, swap_id)
        _only(by, swap.taker)
        log.change(swap, state=SwapState.DECLINED, answered_at=by.now)
        log.says(swap.taker, _("%(taker)s cannot do it for %(giver)s: %(what)s") % _words(swap))
        swap_news(swap, by.now)
    return swap


def withdraw(by: Actor, *, swap_id: int) -> Swap:
    """Take an offer back. For whoever made it, and keepers. Raises BadInput, NotAllowed, NotFound."""
    with write(by, "withdraw swap", role=Role.CHILD) as log:
        swap = _open(by, swap_id)
        _only(by, swap.giver)
        log.change(swap, state=SwapState.WITHDRAWN, answered_at=by.now)
        log.says(swap.giver, _("%(giver)s takes the offer to %(taker)s back: %(what)s") % _words(swap))
        swap_news(swap, by.now)
    return swap


def _hands(log: Log, swap: Swap) -> tuple[Standing, list[Hand]]:
    """Return what changes hands as the rota stands now. Raises BadInput where nothing does, or somebody may not."""
    give = swap.give_day, swap.give_round
    take = None if swap.take_day is None else (swap.take_day, swap.take_round)
    days = [give[0]] if take is None else [give[0], take[0]]
    now = rota_giving.standing(log.farm, days, log.by.today)
    hands = [Hand(job, swap.taker, swap.giver_id) for job in _theirs(now, swap.giver, swap.taker, give)]
    if not hands:
        raise BadInput.at("give", _nothing(swap.giver, give))
    if take is not None:
        back = [Hand(job, swap.giver, swap.taker_id) for job in _theirs(now, swap.taker, swap.giver, take)]
        if not back:
            raise BadInput.at("take", _nothing(swap.taker, take))
        hands += back
    for each in hands:
        rota_rules.check_may(each.member, each.job)
    return now, hands


def _theirs(now: Standing, member: Member, other: Member, turn: Turn) -> list[RotaJob]:
    """Return what a member has in a round, without what the other one does with them."""
    return [job for job in now.of(member.pk, *turn) if other.pk not in now.given[job.key]]


def _nothing(member: Member, turn: Turn) -> str:
    text = _("%(member)s has nothing to do by the rota on %(turn)s that could be given away.")
    return text % {"member": member, "turn": _turn(turn)}


def _check_turns(by: Actor, swap: Swap) -> None:
    problems: dict[str, list[object]] = {}
    for field, day in (("give", swap.give_day), ("take", swap.take_day)):
        if day is not None and day < by.today:
            problems[field] = [_("This day is over.")]
    if (swap.give_day, swap.give_round) == (swap.take_day, swap.take_round):
        problems["take"] = [_("Choose another round.")]
    for field, round in (("give", swap.give_round), ("take", swap.take_round)):
        if round not in Round.values and not (field == "take" and swap.take_day is None):
            problems[field] = [_("Choose a round.")]
    if problems:
        raise BadInput(problems)


def _open(by: Actor, swap_id: int) -> Swap:
    swap = lookup.get(Swap, farm_id=by.farm_id, pk=swap_id)
    if swap.state != SwapState.OFFERED:
        text = _("This offer is not open any more: it was %(state)s.")
        raise BadInput.at("", text % {"state": SwapState(swap.state).label})
    rota_giving.present(swap.farm, swap.giver_id)
    rota_giving.present(swap.farm, swap.taker_id)
    return swap


def _same_round(swap: Swap) -> QuerySet[Swap]:
    """Return the other open offers of the round that is given away."""
    return Swap.objects.filter(
        farm=swap.farm,
        giver=swap.giver,
        give_day=swap.give_day,
        give_round=swap.give_round,
        state=SwapState.OFFERED,
    ).exclude(pk=swap.pk)


def _member(by: Actor) -> Member:
    if by.member is None:
        raise NotAllowed(_("Only a member of the farm can offer a swap."))
    return by.member


def _only(by: Actor, member: Member) -> None:
    if by.member is not None and by.member.pk != member.pk and by.member.role != Role.KEEPER:
        raise NotAllowed(_("Only %(member)s or a keeper may answer this.") % {"member": member})


def _words(swap: Swap) -> dict[str, object]:
    what = _turn((swap.give_day, swap.give_round))
    if swap.take_day is not None:
        what = _("%(given)s for %(taken)s") % {
            "given": what,
            "taken": _turn((swap.take_day, swap.take_round)),
        }
    return {"giver": swap.giver, "taker": swap.taker, "what": what}


def _turn(turn: Turn) -> str:
    return _("%(day)s, %(round)s") % {"day": wording.day(turn[0]), "round": Round(turn[1]).label}
