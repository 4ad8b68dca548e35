"""Ways out of a shortfall as a page offers them: what to do, what it costs, and the button that tries it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from farm.phrase import N_, Phrase
from farm.planning import score
from farm.planning.changes import Change
from farm.planning.score import Bill
from farm.planning.shortfalls import Shortfall
from farm.planning.ways import Way
from farm.queries import asking
from farm.queries.asking import Standing
from farm.web import clock
from farm.web.plan import trying

#: A page waits so long for ways out; what was found by then is shown. Project default (judgement).
PATIENCE = timedelta(seconds=3)
#: Ways beyond these are dearer than anybody reads on for. Project default (judgement).
MOST = 6

_SHORT = ("room", "nowhere", "feeder", "drinker", "cold")
_MORE = {
    "moves": (N_("%(n)d move more"), N_("%(n)d moves more")),
    "splits": (N_("%(n)d split more"), N_("%(n)d splits more")),
    "mixing": (
        N_("%(n)d day more shared with another batch"),
        N_("%(n)d days more shared with other batches"),
    ),
    "off_days": (
        N_("%(n)d move more off the days that suit you"),
        N_("%(n)d moves more off the days that suit you"),
    ),
    "misplaced": (
        N_("%(n)d day more in a housing that does not suit"),
        N_("%(n)d days more in housing that does not suit"),
    ),
}
_LESS = {
    "moves": (N_("%(n)d move fewer"), N_("%(n)d moves fewer")),
    "mixing": (
        N_("%(n)d day less shared with another batch"),
        N_("%(n)d days less shared with other batches"),
    ),
}


@dataclass(frozen=True, slots=True)
class Offer:
    """One way out. sealed: its changes, for the button. costs: what it takes beyond the change itself.

    left: what is still short anywhere afterwards, in words.
    """

    sentence: Phrase
    costs: tuple[Phrase, ...]
    caution: Phrase | None
    left: tuple[Phrase, ...]
    sealed: str


@dataclass(frozen=True, slots=True)
class Offers:
    """The ways out of one shortfall, the cheapest first.

    nothing: every kind was tried in vain. hurried: none was found, but not all were tried. proved: that no plan of
    these birds and housing avoids it, where that was proved.
    """

    shortfall: Shortfall
    offers: tuple[Offer, ...]
    nothing: bool
    hurried: bool
    proved: Phrase | None = None


def offers(
    farm_id: int,
    now: Standing,
    shortfall: Shortfall,
    tried: Sequence[Change] = (),
    before: Bill | None = None,
) -> Offers:
    """Return the ways out of a shortfall, found within a page's patience.

    tried: changes tried already. before: the bill without them; what was short then is not held against a way.
    """
    until: datetime = clock.now() + PATIENCE
    found = asking.ways(now, shortfall, lambda: clock.now() < until)
    ways = [_offer(farm_id, now, way, tried, before) for way in found.ways]
    # The price has ordered them; but a way after which all fits comes before one after which something else does not.
    ways.sort(key=lambda offer: bool(offer.left))
    return Offers(
        shortfall,
        tuple(ways[:MOST]),
        nothing=found.nothing_helps,
        hurried=not found.ways and not found.nothing_helps,
        proved=asking.unavoidable(now, shortfall),
    )


def _offer(farm_id: int, now: Standing, way: Way, tried: Sequence[Change], before: Bill | None) -> Offer:
    bill = score.bill(way.problem, way.solution.plans)
    known = before.terms if before is not None else {}
    short = {term: max(bill.terms[term] - known.get(term, 0), 0) for term in _SHORT}
    changes, plan = trying.kept(now.problem, way)
    return Offer(
        sentence=way.sentence,
        costs=tuple(_differences(now.bill, bill)),
        caution=way.caution,
        left=Bill(short, bill.weights, bill.birds_short).lines(),
        sealed=trying.sealed(farm_id, (*tried, *changes), plan),
    )


def _differences(before: Bill, after: Bill) -> list[Phrase]:
    """Return what a plan's bill has more or less of, in the keeper's words."""
    found = []
    for texts, sign in ((_MORE, 1), (_LESS, -1)):
        for term, (one, many) in texts.items():
            count = sign * (after.terms[term] - before.terms[term])
            if count > 0:
                found.append(Phrase(one, {"n": count}, many, "n"))
    return found
