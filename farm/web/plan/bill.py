"""The bill as a short table: what the plan costs now, with the plan, and the difference."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from farm.models import Plan
from farm.phrase import N_, Quantity

#: What each term is called, with the unit of a quantity and how many of the term's own units make one; gravest first.
TERMS: Mapping[str, tuple[str, str, int]] = {
    "room": (N_("Floor short, summed over the days"), "m2", 100),
    "nowhere": (N_("Floor asked for by birds without a housing, summed over the days"), "m2", 100),
    "feeder": (N_("Feeder edge short, summed over the days"), "cm", 10),
    "drinker": (N_("Drinker edge short, summed over the days"), "cm", 10),
    "cold": (N_("Birds without heat they need, a day each"), "", 1),
    "pins": (N_("Days of a pin not kept"), "", 1),
    "misplaced": (N_("Days in housing that does not suit"), "", 1),
    "moves": (N_("Moves"), "", 1),
    "splits": (N_("Batches split"), "", 1),
    "mixing": (N_("Days shared with another batch"), "", 1),
    "arrival": (N_("Days off the arrivals asked for"), "", 1),
    "off_days": (N_("Moves off the days that suit you"), "", 1),
    "change": (N_("Days a batch is elsewhere than planned now"), "", 1),
    "spare": (N_("Days with a housing nearly full"), "", 1),
}


@dataclass(frozen=True, slots=True)
class Line:
    """One term of the bill that the plan changes; numbers are whole counts or quantities. more: whether it rises."""

    name: str
    before: Quantity | int
    after: Quantity | int
    difference: Quantity | int
    more: bool


def lines(plan: Plan) -> list[Line]:
    """Return the terms that differ, the gravest first; none while there is no plan yet."""
    if not plan.bill:
        return []
    before, after = plan.before["terms"], plan.bill["terms"]
    return [
        _line(term, before.get(term, 0), after.get(term, 0))
        for term in TERMS
        if before.get(term, 0) != after.get(term, 0)
    ]


def _line(term: str, before: int, after: int) -> Line:
    name, unit, parts = TERMS[term]

    def shown(count: int) -> Quantity | int:
        # Tenths of a large sum say nothing, and nothing is simply 0.
        digits = 1 if 0 < count < 100 * parts else 0
        return Quantity(count / parts, unit, digits) if unit else count

    return Line(name, shown(before), shown(after), shown(abs(after - before)), after > before)
