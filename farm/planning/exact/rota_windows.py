"""Parts of a rota small enough to be solved at once while the rest stays as it is."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations

from farm.planning.exact.rota_model import Seat
from farm.planning.rota.choices import Choices

#: How many people share their work out anew in one window: project default (judgement).
TOGETHER = 3


def windows(open_: Choices, most: int) -> Iterator[frozenset[Seat]]:
    """Yield what to free together, at most about so many seats to choose from: stretches of days, the chores of some
    housings on all days, some people's work.

    Stretches overlap by half. A single day or chore, and people, may be more than `most`.
    """
    days: dict[object, set[Seat]] = {}
    chores: dict[object, set[Seat]] = {}
    for job in open_.jobs:
        seats = {(job.key, who) for who in open_.may[job.key]}
        days.setdefault(job.day, set()).update(seats)
        chores.setdefault((job.round, job.group, job.key[0]), set()).update(seats)
    for found in (days, chores):
        yield from _stretches([frozenset(found[place]) for place in sorted(found)], most)  # type: ignore[type-var]
    names = [person.key for person in open_.people]
    for group in combinations(names, min(TOGETHER, len(names))):
        yield frozenset((job.key, who) for job in open_.jobs for who in open_.may[job.key] if who in group)


def _stretches(parts: Sequence[frozenset[Seat]], most: int) -> Iterator[frozenset[Seat]]:
    """Yield neighbouring parts together, as many as are within `most`, going on by half of them."""
    start = 0
    while start < len(parts):
        stop, size = start + 1, len(parts[start])
        while stop < len(parts) and size + len(parts[stop]) <= most:
            size += len(parts[stop])
            stop += 1
        yield frozenset().union(*parts[start:stop])
        if stop == len(parts):
            return
        start = max(start + (stop - start) // 2, start + 1)
