"""A rota made better by the general solver, with how far it may be from the best."""

from __future__ import annotations

from collections.abc import Set
from time import monotonic

from farm.planning.exact.model import Outcome
from farm.planning.exact.rota_model import SCALE, RotaModel, Seat
from farm.planning.exact.rota_windows import windows
from farm.planning.rota.choices import choices
from farm.planning.rota.fair import fair
from farm.planning.rota.records import Assigned, RotaAnswer, RotaProblem
from farm.planning.rota.score import bill

#: A rota this near its bound, in units of the bill, is the best: the solver rounds. project default (judgement)
CLOSED = 0.01
#: With more seats to choose from, parts of a rota are solved before the whole: project default (judgement).
AT_ONCE = 1500
#: How much of the time is over when promising seats, then parts, then the whole have had theirs; project default
#: (judgement).
PROMISING, PARTS, WHOLE = 0.5, 0.75, 1.0
#: The most of all the time for one part: project default (judgement).
ONE_PART = 0.1
#: A part is good enough this near its own best, by the cost of the rota: project default (judgement).
NEAR = 0.001
#: What a relaxed seat must hold to be promising: less is rounding. project default (judgement)
SOME = 1e-6


def polish(problem: RotaProblem, answer: RotaAnswer, seconds: float) -> RotaAnswer:
    """Return the answer or a better rota, after about so many seconds at most, and how good it is proved to be.

    A small problem is solved as a whole. For a large one persons may first be split between seats, which gives a bound
    and the seats that are promising; then those, then parts of the rota with the rest as it is, and at last the whole
    are solved while time is left. answer: a rota of this problem that breaks no hard rule. Raises ValueError as
    `choices`.
    """
    polishing = _Polishing(problem, answer, seconds)
    if len(polishing.made.seats) > AT_ONCE:
        polishing.promising()
        polishing.parts()
    polishing.whole()
    return polishing.answer()


class _Polishing:
    """The best rota so far and the best bound."""

    def __init__(self, problem: RotaProblem, answer: RotaAnswer, seconds: float) -> None:
        self.seconds, self.start = seconds, monotonic()
        self.problem, self.open = problem, choices(problem)
        self.targets = fair(problem, self.open).targets
        self.made = RotaModel(problem, self.open, self.targets)
        self.best: Assigned = answer.assigned
        self.bill = bill(problem, self.open, self.targets, self.best)
        self.bound = answer.bound

    def promising(self) -> None:
        """Solve with those seats alone that a rota of split people uses, then with those of the best so far as well."""
        if self._left(PROMISING) <= 0:
            return
        self.made.hold(self.best)
        relaxed = self.made.relaxed(self._left(PROMISING))
        self._learn(relaxed)
        if relaxed.values is None:
            return
        used = {seat for seat, column in self.made.seats.items() if relaxed.values[column] > SOME}
        # Without the best so far at first: it would only draw in seats that are not promising.
        self._part(used, self._left(PROMISING) / 2, {})
        before = None
        while before != self.bill.cost and self._left(PROMISING) > 0:
            before = self.bill.cost
            taken = {(key, who) for key, people in self.best.items() for who in people}
            self._part(used | taken, self._left(PROMISING) / 2, self.best)

    def parts(self) -> None:
        """Solve parts, again and again while that helps."""
        before = None
        while before != self.bill.cost:
            before = self.bill.cost
            for free in windows(self.open, AT_ONCE):
                if self._left(PARTS) <= 0:
                    return
                self._part(free, min(self._left(PARTS), self.seconds * ONE_PART), self.best)

    def whole(self) -> None:
        """Solve the whole, and learn a bound."""
        if self._left(WHOLE) > 0:
            self.made.hold(self.best)
            self._learn(self._keep(self.made.model.run(self._left(WHOLE), self.made.start(self.best))))

    def answer(self) -> RotaAnswer:
        """Return what was found."""
        cost = self.bill.cost
        bound = cost if cost - self.bound <= CLOSED else self.bound
        gap = (cost - bound) / max(cost, 1.0)
        return RotaAnswer(self.best, self.bill, bound, gap, bound == cost, self.open.dropped)

    def _left(self, part: float) -> float:
        """Return the seconds until this part of the time is over."""
        return self.start + self.seconds * part - monotonic()

    def _learn(self, outcome: Outcome) -> None:
        self.bound = max(self.bound, outcome.bound / SCALE - CLOSED / 2)

    def _part(self, free: Set[Seat], seconds: float, rest: Assigned) -> None:
        """Solve with these seats free and the rest as in a rota, until it is near enough."""
        if seconds <= 0:
            return
        self.made.hold(rest, free)
        near = NEAR * SCALE * max(self.bill.cost, 1.0)
        start = self.made.start(rest) if rest else None
        self._keep(self.made.model.run(seconds, start, lambda _, bound, cost: cost - bound > near))

    def _keep(self, outcome: Outcome) -> Outcome:
        """Keep what was found if it is better."""
        if outcome.values is None:
            return outcome
        found = self.made.read(outcome.values)
        counted = bill(self.problem, self.open, self.targets, found)
        if outcome.optimal and abs(counted.cost - outcome.cost / SCALE) > CLOSED:
            raise AssertionError(
                f"the rota costs {counted.cost}, but the solver counted {outcome.cost / SCALE}"
            )
        if counted.cost < self.bill.cost:
            self.best, self.bill = found, counted
        return outcome
