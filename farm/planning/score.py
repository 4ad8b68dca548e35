"""What a plan costs, term by term, counted from the plan alone: this module knows no solver.

Each term is one function of the plan's tables, and its docstring is what it counts. All are whole numbers.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, fields
from functools import total_ordering

import numpy as np

from farm.phrase import N_, Phrase, Quantity
from farm.planning.problem import Problem
from farm.planning.solution import BatchPlan
from farm.planning.tables import Tables, tables
from farm.planning.weights import Weights

NEARLY_FULL_PERCENT = 90


@total_ordering
@dataclass(frozen=True, eq=False)
class Bill:
    """Quantities of every term by name, in order of weight, and what they cost together.

    A bill is smaller than another when its total is. birds_short: the most birds without room on one day (not priced:
    the floor they lack is).
    """

    terms: Mapping[str, int]
    weights: Weights
    birds_short: int

    @property
    def total(self) -> int:
        """Return the price of everything."""
        return sum(self.cost(name) for name in self.terms)

    @property
    def shortfall(self) -> int:
        """Return the price of missing room, edges and heat alone; 0 when everyone is housed."""
        return sum(self.cost(name) for name in ("room", "nowhere", "feeder", "drinker", "cold"))

    def cost(self, name: str) -> int:
        """Return the price of one term."""
        return self.terms[name] * int(getattr(self.weights, name))

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Bill) and self.total == other.total

    def __lt__(self, other: Bill) -> bool:
        return self.total < other.total

    __hash__ = None  # type: ignore[assignment]

    def lines(self) -> tuple[Phrase, ...]:
        """Return the bill as a keeper reads it, the gravest first, without what did not happen."""
        return tuple(_LINES[name](count) for name, count in self.terms.items() if count)


def bill(problem: Problem, plans: Iterable[BatchPlan]) -> Bill:
    """Return what these plans cost. Raises KeyError for a batch or housing the problem does not have."""
    table = tables(problem, plans)
    terms = {field.name: TERMS[field.name](table) for field in fields(Weights)}
    return Bill(terms, problem.weights, birds_short(table))


def room(table: Tables) -> int:
    """Count the dm² of floor missing, a day each."""
    return _over(table.area, table.area_given)


def nowhere(table: Tables) -> int:
    """Count the dm² of floor asked for by birds without any housing, a day each."""
    return int(table.nowhere_area.sum())


def feeder(table: Tables) -> int:
    """Count the mm of feeder edge missing, a day each, where the edge is recorded."""
    return _over(table.feeder, table.feeder_given, table.feeder_given > 0)


def drinker(table: Tables) -> int:
    """Count the mm of drinker edge missing, a day each, where the edge is recorded."""
    return _over(table.drinker, table.drinker_given, table.drinker_given > 0)


def cold(table: Tables) -> int:
    """Count the birds that need heat in a housing without any, a day each."""
    return sum(row.cold for row in table.rows)


def pins(table: Tables) -> int:
    """Count the days on which a pin is not kept."""
    return table.unkept_pin_days


def misplaced(table: Tables) -> int:
    """Count the days a part is in a housing that its age, species, the season or the keeper rules out."""
    return sum(row.misplaced for row in table.rows)


def moves(table: Tables) -> int:
    """Count the changes of housing."""
    return sum(len(row.move_days) for row in table.rows)


def splits(table: Tables) -> int:
    """Count the parts beyond the first of each batch that was not in parts before."""
    return table.new_parts


def mixing(table: Tables) -> int:
    """Count the batches beyond the first in each housing, a day each."""
    return int(np.maximum(table.together - 1, 0).sum())


def arrival(table: Tables) -> int:
    """Count the days between the arrivals planned and those asked for."""
    return table.arrival_shift_days


def off_days(table: Tables) -> int:
    """Count the moves off the welcome weekdays."""
    welcome = table.problem.move_weekdays
    return sum(bool(welcome) and day.weekday() not in welcome for row in table.rows for day in row.move_days)


def change(table: Tables) -> int:
    """Count the days a part is elsewhere than the adopted plan has it."""
    return sum(row.changed for row in table.rows)


def spare(table: Tables) -> int:
    """Count the days on which a housing is more than 90 % full."""
    return int((100 * table.area > NEARLY_FULL_PERCENT * table.area_given).sum())


def birds_short(table: Tables) -> int:
    """Count the birds without room on the worst day: those nowhere, and those too many where they are."""
    over = np.maximum(table.area - table.area_given, 0)
    too_many = -(-over * table.birds // np.maximum(table.area, 1))
    return int((too_many.sum(axis=0) + table.nowhere_birds).max(initial=0))


def _over(asked: np.ndarray, given: np.ndarray, judged: np.ndarray | bool = True) -> int:
    return int(np.where(judged, np.maximum(asked - given, 0), 0).sum())


TERMS: Mapping[str, Callable[[Tables], int]] = {
    each.__name__: each
    for each in (
        room, nowhere, feeder, drinker, cold, pins, misplaced, moves, splits, mixing, arrival, off_days, change, spare,
    )
}  # fmt: skip


def _counted(one: str, many: str) -> Callable[[int], Phrase]:
    return lambda count: Phrase(one, {"count": count}, many, "count")


def _floor(text: str) -> Callable[[int], Phrase]:
    return lambda dm2_days: Phrase(text, {"area": Quantity(dm2_days / 100, "m2", 2)})


def _edge(text: str) -> Callable[[int], Phrase]:
    return lambda mm_days: Phrase(text, {"edge": Quantity(mm_days / 10, "cm")})


_LINES: Mapping[str, Callable[[int], Phrase]] = {
    "room": _floor(N_("%(area)s of floor short, summed over the days")),
    "nowhere": _floor(N_("%(area)s of floor asked for by birds without a housing, summed over the days")),
    "feeder": _edge(N_("%(edge)s of feeder short, summed over the days")),
    "drinker": _edge(N_("%(edge)s of drinker short, summed over the days")),
    "cold": _counted(
        N_("%(count)d bird for a day without heat"), N_("%(count)d birds for a day without heat")
    ),
    "pins": _counted(N_("%(count)d day of a pin not kept"), N_("%(count)d days of pins not kept")),
    "misplaced": _counted(
        N_("%(count)d day in a housing that does not suit"),
        N_("%(count)d days in housing that does not suit"),
    ),
    "moves": _counted(N_("%(count)d move"), N_("%(count)d moves")),
    "splits": _counted(N_("%(count)d batch split once more"), N_("batches split %(count)d times more")),
    "mixing": _counted(
        N_("%(count)d day shared with another batch"), N_("%(count)d days shared with other batches")
    ),
    "arrival": _counted(
        N_("%(count)d day off the arrival asked for"), N_("%(count)d days off the arrivals asked for")
    ),
    "off_days": _counted(
        N_("%(count)d move off the days that suit you"), N_("%(count)d moves off the days that suit you")
    ),
    "change": _counted(
        N_("%(count)d day elsewhere than in the adopted plan"),
        N_("%(count)d days elsewhere than in the adopted plan"),
    ),
    "spare": _counted(
        N_("%(count)d day with a housing nearly full"), N_("%(count)d days with a housing nearly full")
    ),
}
