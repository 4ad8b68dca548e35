"""What each line will really get: every part of every batch lived through, hand-over by hand-over.

Between two days each bird lives with the programme's chance; on a day the lines are served by rank, each with what is
left after the birds held and those meant for earlier-ranked lines on later days. A line that is short may get more
than is meant for it, up to what it ordered, from the one part where most is left. All this is exact: no count is
left out, nothing is simulated. Batches are independent of each other; that the females and males of one are, too, is an
approximation (see `pool`).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
from numpy.typing import NDArray

from farm.husbandry import odds
from farm.planning.allotments.pool import Pool, alive_share

Law = NDArray[np.float64]


@dataclass(frozen=True)
class Chain:
    """The life of one part. got: by pair, the law of birds given; on_day: by bucket, of all birds given that day.

    left: the law of birds neither held nor given after the last hand-over, at the last day asked about.
    """

    got: dict[int, Law] = field(default_factory=dict)
    on_day: dict[int, Law] = field(default_factory=dict)
    left: Law = field(default_factory=lambda: np.ones(1))


def chains(pool: Pool, birds: Sequence[int], spare_from: Mapping[str, date]) -> list[Chain]:
    """Return the life of every part. birds: meant, by pair.

    spare_from: the day spare birds count from, by batch key.
    """
    most = _most(pool, birds)
    return [_live(pool, part, birds, most, spare_from) for part in range(len(pool.parts))]


def _most(pool: Pool, birds: Sequence[int]) -> list[int]:
    """Return the most birds each pair may get: those meant, and on one pair of a short line what it lacks."""
    most = list(birds)
    meant = [sum(birds[place] for place in places) for places in pool.by_part]
    for line, places in enumerate(pool.by_line):
        lacking = pool.lines[line].birds - sum(birds[place] for place in places)
        if lacking and places:

            def left(place: int) -> float:
                part = pool.parts[pool.pairs[place].part]
                return part.alive[pool.pairs[place].bucket] - part.held - meant[pool.pairs[place].part]

            most[max(places, key=left)] += lacking
    return most


def _live(
    pool: Pool, place: int, birds: Sequence[int], most: Sequence[int], spare_from: Mapping[str, date]
) -> Chain:
    part, chain = pool.parts[place], Chain()
    law, share = np.array(part.supply.law), part.share
    lived = 1.0
    pairs = [at for at in pool.by_part[place] if most[at]]
    days = sorted({pool.pairs[at].bucket for at in pairs})
    for bucket in days:
        alive = alive_share(part.supply, part.days[bucket])
        law = _thin(law, share * alive / lived)
        share, lived = 1.0, alive
        here = [at for at in pairs if pool.pairs[at].bucket == bucket]
        later = [at for at in pairs if pool.pairs[at].bucket > bucket]
        law = _hand_over(pool, chain, law, part.held, bucket, here, later, birds, most)
    end = max([spare_from[part.supply.key], *(part.days[bucket] for bucket in days)])
    law = _thin(law, share * alive_share(part.supply, end) / lived)
    free = np.maximum(np.arange(len(law)) - part.held, 0)
    return Chain(chain.got, chain.on_day, _counted(free, law))


def _hand_over(
    pool: Pool,
    chain: Chain,
    law: Law,
    held: int,
    bucket: int,
    here: Sequence[int],
    later: Sequence[int],
    birds: Sequence[int],
    most: Sequence[int],
) -> Law:
    """Serve the lines of one day by rank, note what they get, and return the law of the birds that stay."""
    before = np.arange(len(law))
    alive = before
    for at in here:  # pairs come by rank
        line = pool.pairs[at].line
        kept = held + sum(birds[other] for other in later if pool.pairs[other].line < line)
        got = np.clip(alive - kept, 0, most[at])
        chain.got[at] = _counted(got, law)
        alive = alive - got
    chain.on_day[bucket] = _counted(before - alive, law)
    return _counted(alive, law)


def _counted(values: NDArray[np.int64], law: Law) -> Law:
    """Return the law of values that hang on a count of that law; shape (highest value + 1,)."""
    return np.bincount(values, law).astype(np.float64)


def _thin(law: Law, chance: float) -> Law:
    """Return the law of those alive later. Chances divided by each other may come out a hair above 1."""
    return odds.after(law, [odds.Stage("alive", min(chance, 1.0))])
