"""Handing over by hand: how many birds of a batch nobody ranked before a line has a claim to."""

from __future__ import annotations

import math
from collections.abc import Sequence
from datetime import date

from farm.husbandry import odds
from farm.planning.allotments.pool import Pool, alive_share
from farm.planning.allotments.room import HAIR


def free(question: Pool, birds: Sequence[int], supply_key: str, wanted_key: str | None, day: date) -> int:
    """Return the free birds of a batch, see `allotment.free_birds`. birds: meant, by pair."""
    ranks = {line.key: place for place, line in enumerate(question.lines)}
    rank = len(ranks) if wanted_key is None else ranks.get(wanted_key, len(ranks))
    sex = question.lines[rank].sex if rank < len(ranks) else "any"
    places = [place for place, part in enumerate(question.parts) if part.supply.key == supply_key]
    if not places:
        raise KeyError(supply_key)
    there = {place: _there(question, place, birds, rank, day) for place in places}
    # A hold on more hens than there may be keeps no cock back.
    kept = {
        place: min(question.parts[place].held, max(math.ceil(there[place] - HAIR), 0))
        + _meant_before(question, place, birds, rank, day)
        for place in places
    }
    most = math.floor(sum(there.values()) + HAIR) - sum(kept.values())
    own = [place for place in places if question.parts[place].sex == sex != "any"]
    if own:
        most = min(most, *(math.ceil(there[place] - HAIR) - kept[place] for place in own))
    return max(most, 0)


def _there(question: Pool, place: int, birds: Sequence[int], rank: int, day: date) -> float:
    """Return the birds of a part expected on a day, those that other lines had by then gone."""
    part = question.parts[place]
    alive = part.share * odds.mean(part.supply.law)
    gone = sum(
        birds[at] / alive_share(part.supply, question.day(question.pairs[at]))
        for at in question.by_part[place]
        if question.pairs[at].line != rank and question.day(question.pairs[at]) < day
    )
    return (alive - gone) * alive_share(part.supply, max(day, part.supply.known_on))


def _meant_before(question: Pool, place: int, birds: Sequence[int], rank: int, day: date) -> int:
    """Return the birds of a part meant from a day on for lines ranked before one."""
    return sum(
        birds[at]
        for at in question.by_part[place]
        if question.pairs[at].line < rank and question.day(question.pairs[at]) >= day
    )
