"""A first rota: pins, the rota in force, then lane by lane whoever was there the day before until they have enough."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from farm.planning.rota.draft import Plan

#: What one more person in a cell, a minute above a week's wish and a change weigh when somebody is chosen first, in
#: minutes of target: project default (judgement). Searching puts right what they get wrong.
CROWD, OVER, CHANGE = 60.0, 0.5, 15.0


def build(plan: Plan) -> list[int]:
    """Return people (bits) by job: every seat that can be filled is, no rule is broken."""
    first = _First(plan)
    for lane in sorted(plan.lanes, key=lambda lane: (-_minutes(plan, lane), lane[0])):
        for cell in lane:
            first.fill(cell)
    _watch(plan, first.doing)
    return first.doing


def _minutes(plan: Plan, lane: Iterable[int]) -> int:
    return sum(plan.minutes[at] * plan.seats[at] for cell in lane for at in plan.in_cell[cell])


class _First:
    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.people = range(len(plan.open.people))
        self.left = [
            target - person.done for target, person in zip(plan.targets, plan.open.people, strict=True)
        ]
        self.weekly = [[0] * plan.weeks for _ in self.people]
        self.doing = [0] * len(plan.seats)
        for at in range(len(self.doing)):
            self._give(at, plan.pinned[at])
        previous = plan.problem.previous
        for at, job in enumerate(plan.open.jobs):
            for key in previous.get(job.key, ()):
                bit = plan.bit.get(key, 0)
                if bit & plan.may[at] & ~self.doing[at] and self.doing[at].bit_count() < plan.seats[at]:
                    self._give(at, bit)

    def fill(self, cell: int) -> None:
        """Fill the seats of a cell that are free, with as few people as its jobs allow."""
        short = [at for at in self.plan.in_cell[cell] if self._short(at)]
        while short:
            person = max(
                (person for person in self.people if any(self._could(at, person) for at in short)),
                key=lambda person: (self._worth(cell, short, person), -person),
            )
            for at in short:
                if self._could(at, person):
                    self._give(at, 1 << person)
            short = [at for at in short if self._short(at)]

    def _short(self, at: int) -> bool:
        return self.doing[at].bit_count() < self.plan.seats[at]

    def _could(self, at: int, person: int) -> bool:
        return bool((self.plan.may[at] & ~self.doing[at]) >> person & 1)

    def _give(self, at: int, people: int) -> None:
        self.doing[at] |= people
        for person in self.people:
            if people >> person & 1:
                self.left[person] -= self.plan.minutes[at]
                self.weekly[person][self.plan.week[at]] += self.plan.minutes[at]

    def _worth(self, cell: int, short: Sequence[int], person: int) -> float:
        """Return how well somebody suits for what is free of a cell; more is better."""
        plan, bit = self.plan, 1 << person
        can = [at for at in short if self._could(at, person)]
        minutes = sum(plan.minutes[at] for at in can)
        week = plan.week[can[0]]
        over = max(0, self.weekly[person][week] + minutes - plan.wish[person])
        changes = sum(plan.earlier[at] >= 0 and not self.doing[plan.earlier[at]] & bit for at in can)
        new = not any(self.doing[at] & bit for at in plan.in_cell[cell])
        heat = sum(plan.watch[at] >= 0 and bit & plan.children != 0 for at in can)
        left = self.left[person] / max(plan.targets[person], 1.0)
        enough = minutes - self.left[person]
        return (
            minutes * (1 if enough <= 0 else 0.25)
            + 30 * left
            - CHANGE * changes
            - CROWD * new
            - OVER * over
            - CROWD * heat
        )


def _watch(plan: Plan, doing: list[int]) -> None:
    """Put an adult where a child would be alone with heat: there is always somebody (see `Choices.fillable`)."""
    for place, jobs in enumerate(plan.in_place):
        there = sum({doing[at] & plan.adults for at in jobs})
        if there or not any(doing[at] & plan.children for at in plan.at_heat[place]):
            continue
        at, out, comes = next(
            (at, out, comes)
            for at in jobs
            for comes in plan.bit.values()
            for out in plan.bit.values()
            if comes & plan.may[at] & plan.adults & ~doing[at] and out & doing[at] & ~plan.pinned[at]
        )
        doing[at] ^= out | comes
