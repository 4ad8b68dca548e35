"""The cheapest ways out of a shortfall, each shown to work by a plan that was checked.

    answer = ways_out.find(problem, solution, shortfall)
    answer.ways[0].sentence, answer.ways[0].changes, answer.ways[0].solution

The batches that stand short are asked one after the other: another arrival, fewer birds, an earlier leaving, parts,
more floor, a borrowed housing, a rest waived, another batch moved; at last everything not pinned is planned anew.
"Nothing helps" is said only when every kind was tried, and birds that are here would not fit if they were fewer.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from farm.planning.problem import Problem
from farm.planning.shortfalls import Shortfall
from farm.planning.solution import Solution
from farm.planning.ways import Way, case
from farm.planning.ways_of_batch import OfBatch
from farm.planning.ways_of_farm import OfFarm
from farm.planning.ways_of_others import OfOthers, planned_anew

KINDS = ("arrival", "fewer", "area", "leave", "split", "borrow", "rest", "others")
#: At most so many of the batches that stand short are asked, those that ask for most first.
BATCHES = 3

Told = Callable[[str, "Way | None"], bool]


@dataclass(frozen=True)
class Answer:
    """Ways by price, one of each kind and batch; `tried`: the kinds that were looked at to the end.

    "fewer" is not among them where it would help but is no plan: birds that are here leave when the keeper says so.
    """

    ways: tuple[Way, ...]
    tried: frozenset[str]

    @property
    def nothing_helps(self) -> bool:
        """Return whether every kind of way was tried and none works."""
        return not self.ways and self.tried == frozenset(KINDS)


def find(
    problem: Problem,
    solution: Solution,
    shortfall: Shortfall,
    report: Told | None = None,
    batches: int = BATCHES,
) -> Answer:
    """Return every way out found, the cheapest first.

    report(kind, way or None) is called after each kind; returning False ends the search with what there is. Ways that
    leave less short come before others: only then does the price decide.
    """
    found, tried = list[Way](), set[str]()
    rounds: dict[str, int] = dict.fromkeys(KINDS, 0)
    groups = shortfall.breach.groups[:batches]
    for kind, ways in each(problem, solution, shortfall, batches):
        new = list(ways)
        found += new
        rounds[kind] += 1
        # "others" has a last round: everything planned anew.
        if rounds[kind] == len(groups) + (kind == "others"):
            tried.add(kind)
        if report is not None and not report(kind, new[0] if new else None):
            break
    if not found and tried == set(KINDS):
        given = case(problem, solution, shortfall)
        if any(OfBatch(given, key).would_fit_if_fewer() for key in groups):
            tried.remove("fewer")
    return Answer(
        tuple(sorted(found, key=lambda way: (way.left, way.price, str(way.sentence)))), frozenset(tried)
    )


def first(problem: Problem, solution: Solution, shortfall: Shortfall) -> Way | None:
    """Return one verified way out, found as quickly as can be; None where nothing helps."""
    return next((way for _, ways in each(problem, solution, shortfall) for way in ways), None)


def each(
    problem: Problem, solution: Solution, shortfall: Shortfall, batches: int = BATCHES
) -> Iterator[tuple[str, Iterator[Way]]]:
    """Yield every kind of way with its ways, worked out only as they are asked for, batch by batch."""
    given = case(problem, solution, shortfall)
    for key in shortfall.breach.groups[:batches]:
        own = OfBatch(given, key)
        farm = OfFarm(own)
        yield "arrival", own.arrival()
        yield "fewer", own.fewer()
        yield "area", farm.area()
        yield "leave", own.leave()
        yield "split", own.split()
        yield "borrow", farm.borrow()
        yield "rest", farm.waive()
        yield "others", OfOthers(own).others()
    yield "others", planned_anew(given)
