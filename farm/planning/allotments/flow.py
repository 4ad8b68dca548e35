"""How many birds each line gets: as many as can be for the first line, then for the second, and so on.

A row of fills can be served when the birds flow within the limits `room` sets for it; fewer birds can always be
served where more can. So each line in its turn gets the most for which the lines before it still get all of
theirs, found by halving: exact, in whole birds. Birds may be meant for another line than first thought of, as long as
every earlier line keeps its number.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from farm.planning.allotments.network import Network
from farm.planning.allotments.pool import Pool
from farm.planning.allotments.room import fills_by_day, limits


@dataclass(frozen=True)
class Flow:
    """fills: birds by line. birds: by pair. limits: by part and day, see `room.limits`."""

    fills: tuple[int, ...]
    birds: tuple[int, ...]
    limits: tuple[tuple[int, ...], ...]


def fill(pool: Pool) -> Flow:
    """Return the fills that are the most in the order of the lines' ranks, and one flow that serves them."""
    fills = [0] * len(pool.lines)
    network = Network(pool, room_for(pool, fills))
    for line in range(len(pool.lines)):
        if pool.by_line[line]:
            fills[line], network = _most(network, fills, line)
    return Flow(tuple(fills), tuple(network.birds), tuple(map(tuple, network.limits)))


def room_for(pool: Pool, fills: Sequence[int]) -> list[list[int]]:
    """Return the limits of every part while lines get so many birds."""
    return [limits(part, fills_by_day(pool, place, fills)) for place, part in enumerate(pool.parts)]


def _most(network: Network, fills: Sequence[int], line: int) -> tuple[int, Network]:
    """Return the most birds a line can have beside what earlier lines have, and the network in which it has them.

    Where it cannot have all, one more than the birds found is tried first: mostly they were the most.
    """
    low, high, best = 0, network.pool.lines[line].birds, network
    trial, halving = high, False
    while low < high:
        found, served = _served(network, fills, line, trial)
        if found > low:
            low, best = found, served
        if found < trial:
            high = trial - 1
        trial, halving = (low + high + 1) // 2 if halving else low + 1, True
    return low, best


def _served(network: Network, fills: Sequence[int], line: int, birds: int) -> tuple[int, Network]:
    """Return how many of so many birds were found for a line, and the network in which it has them.

    Losses are set aside as if it had all of them. Nothing is found where that alone takes birds from other lines.
    """
    trial = network.copy()
    lost = _limit(trial, fills, line, birds)
    for other in sorted(lost):
        if trial.give(other, lost[other]) < lost[other]:
            return 0, network
    found = trial.give(line, birds)
    if found < birds:
        _limit(trial, fills, line, found)
    return found, trial


def _limit(network: Network, fills: Sequence[int], line: int, birds: int) -> dict[int, int]:
    """Set the limits for a line to have so many birds, and return what other lines lose by it."""
    pool, wanted = network.pool, [*fills[:line], birds, *fills[line + 1 :]]
    touched = sorted({pool.pairs[place].part for place in pool.by_line[line]})
    return network.tighten(
        {part: limits(pool.parts[part], fills_by_day(pool, part, wanted)) for part in touched}
    )
