"""Annealing over blocks: people take over cells, runs of days and single jobs from each other, by a budget of steps.

A step is one cell looked at, so a run of days costs as many as it has days. Chance comes from one generator, the
temperature falls by steps and nothing depends on an order of sets: the same problem has the same rota everywhere.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from operator import sub
from random import Random

from farm.planning.rota.draft import Draft

#: Temperatures in the bill's units, first and last; a rota in force is changed gently. These and all shares below were
#: tried out on farms of eight people: project default (judgement).
HOT, GENTLE, COLD = 2.5, 1.0, 0.2
#: Whole rounds come first: the weight of the deviation grows from EASY of itself to all of it over RAMP of the steps.
#: Everybody's distance from their target counts SPREAD as much as the largest, to lead the way there.
RAMP, EASY, SPREAD = 0.8, 0.01, 0.1
#: The share of tries that mend the person furthest from their target; of others, those that give to who has the chore
#: on the day before or after, and to who has something in the cell already.
MEND, NEIGHBOUR, MATE = 0.3, 0.35, 0.25
#: The share of tries that take over single chores instead of all of a cell, and of those answered by a take-over the
#: other way round.
SINGLE, SWAP = 0.25, 0.5
#: Longest run of days, and draws until one that suits is given up.
LONGEST, DRAWS = 10, 6

#: Jobs of a cell, who had them and who takes over.
Move = tuple[int, list[int], int, int]


class Search:
    """One run; `best` is the best rota met, as people by job."""

    def __init__(self, draft: Draft, seed: int, steps: int, gentle: bool) -> None:
        self.draft, self.plan = draft, draft.plan
        self.random = Random(seed).random
        self.steps = steps
        self.hot = GENTLE if gentle else HOT
        weights = self.plan.problem.weights
        self.weights = (
            weights.deviation,
            weights.over,
            weights.block,
            weights.change,
            weights.unliked,
            weights.touched,
        )
        self.each: dict[int, list[int]] = {}
        self.movable = [
            at
            for at, may in enumerate(self.plan.may)
            if may.bit_count() > self.plan.seats[at]
            and self.plan.seats[at] > self.plan.pinned[at].bit_count()
        ]
        self.gentle = gentle
        self.best_cost, self.best = self._rest() + self.weights[0] * draft.deviation, list(draft.doing)

    def run(self) -> None:
        """Take all steps."""
        draft, taken, cold = self.draft, 0, math.log(COLD / self.hot) / max(self.steps, 1)
        full = self.weights[0]
        rest, (most, total) = self._rest(), self._away()
        while taken < self.steps and self.movable:
            part = taken / self.steps
            heat = self.hot * math.exp(cold * taken)
            weight = full if part >= RAMP or self.gentle else full * EASY ** (1 - part / RAMP)
            moves = self._draw()
            taken += max(1, len(moves))
            if not moves:
                continue
            counts = draft.counts
            if self._take(moves):
                after, (far, all_) = self._rest(), self._away()
                more = after - rest + weight * (far - most + SPREAD * (all_ - total))
                if more <= 0 or more < -heat * math.log(1 - self.random()):
                    rest, most, total = after, far, all_
                    if rest + full * most < self.best_cost - 1e-9:
                        self.best_cost, self.best = rest + full * most, list(draft.doing)
                    continue
            for move in reversed(moves):
                draft.give_back(*move)
            draft.restore(counts)

    def _away(self) -> tuple[float, float]:
        """Return how far people are from their targets: the most, and all together."""
        away = [*map(abs, map(sub, self.draft.load, self.plan.targets))]
        return max(away, default=0.0), sum(away)

    def _rest(self) -> float:
        """Return what moves can change of the bill, the deviation apart."""
        draft = self.draft
        _, over, block, change, unliked, touched = self.weights
        return (
            over * draft.over
            + block * draft.blocks
            + change * draft.changes
            + unliked * draft.unliked
            + touched * draft.touched
        )

    def _take(self, moves: Sequence[Move]) -> bool:
        """Make moves; say whether they leave no child alone with heat."""
        watch, places = self.plan.watch, set[int]()
        for cell, jobs, out, comes in moves:
            self.draft.take_over(cell, jobs, out, comes)
            places.update(watch[at] for at in jobs)
        return not any(place >= 0 and self.draft.lonely(place) for place in places)

    def _below(self, count: int) -> int:
        return int(self.random() * count)

    def _draw(self) -> list[Move]:
        """Return moves to be made together, none where the draw has none."""
        at, out, comes = self._who()
        if out == comes:
            return []
        cell = self.plan.cell[at]
        jobs = self.draft.can_take(cell, out, comes)
        if not jobs:
            return []
        if self.random() < SINGLE:
            moves = self._chain(at, out, comes) if at in jobs else [(cell, jobs[:1], out, comes)]
        else:
            moves = self._run(cell, jobs, out, comes)
        if self.random() < SWAP:
            moves += self._return(moves)
        return moves

    def _who(self) -> tuple[int, int, int]:
        """Return a job, who has it, and who could take over; the same person twice where nobody could."""
        movable, doing, may = self.movable, self.draft.doing, self.plan.may
        at = movable[self._below(len(movable))]
        if self.random() < MEND:
            return self._mend(at)
        out = self._one(doing[at])
        others = may[at] & ~doing[at]
        kind = self.random()
        if kind < NEIGHBOUR:
            beside = self.plan.earlier[at] if kind < NEIGHBOUR / 2 else self.plan.later[at]
            near = doing[beside] if beside >= 0 else 0
        else:
            near = self.draft.cells[self.plan.cell[at]] if kind < NEIGHBOUR + MATE else 0
        others = others & near or others
        return at, out, self._one(others) if others else out

    def _mend(self, at: int) -> tuple[int, int, int]:
        """Return a job to be taken from, or by, the person furthest from their target."""
        movable, doing, may = self.movable, self.draft.doing, self.plan.may
        away = [load - target for load, target in zip(self.draft.load, self.plan.targets, strict=True)]
        worst = max(range(len(away)), key=lambda person: abs(away[person]))
        bit = 1 << worst
        for _ in range(DRAWS):
            has = doing[at] & bit
            if away[worst] > 0 and has:
                others = may[at] & ~doing[at]
                return at, worst, self._one(others) if others else worst
            if away[worst] < 0 and not has and may[at] & bit:
                return at, self._one(doing[at]), worst
            at = movable[self._below(len(movable))]
        return at, worst, worst

    def _run(self, cell: int, jobs: list[int], out: int, comes: int) -> list[Move]:
        """Return the same exchange on some days of the lane, as far as both can."""
        moves = [(cell, jobs, out, comes)]
        lane, place = self.plan.lane[cell], self.plan.lane_at[cell]
        length = int(self.random() ** 3 * LONGEST)
        step = 1 if self.random() < 0.5 else -1
        for at in range(place + step, place + step * (length + 1), step):
            if not 0 <= at < len(lane):
                break
            more = self.draft.can_take(lane[at], out, comes)
            if not more:
                break
            moves.append((lane[at], more, out, comes))
        return moves

    def _chain(self, at: int, out: int, comes: int) -> list[Move]:
        """Return the same exchange for one chore on some days, as far as both can."""
        plan, moves = self.plan, list[Move]()
        beside = plan.later if self.random() < 0.5 else plan.earlier
        one, other = 1 << out, 1 << comes
        for _ in range(1 + int(self.random() ** 3 * LONGEST)):
            now = self.draft.doing[at] if at >= 0 else 0
            if not now & one or now & other or not plan.may[at] & other or plan.pinned[at] & one:
                break
            moves.append((plan.cell[at], [at], out, comes))
            at = beside[at]
        return moves

    def _return(self, moves: Sequence[Move]) -> list[Move]:
        """Return about as many cells the other way round: of the same lane, the same day, or anywhere."""
        cell, jobs, out, comes = moves[0]
        taken = {move[0] for move in moves}
        for _ in range(DRAWS):
            other = self._elsewhere(cell)
            back = [] if other in taken else self.draft.can_take(other, comes, out)
            if back:
                if len(jobs) == 1 and len(back) > 1:
                    back = [back[self._below(len(back))]]
                run = self._run(other, back, comes, out) if len(moves) > 1 else [(other, back, comes, out)]
                return [move for move in run[: len(moves)] if move[0] not in taken]
        return []

    def _elsewhere(self, cell: int) -> int:
        if self.random() < 0.5:
            lane = self.plan.lane[cell]
            return lane[self._below(len(lane))]
        return self.plan.cell[self.movable[self._below(len(self.movable))]]

    def _one(self, people: int) -> int:
        """Return one of some people, each as likely."""
        each = self.each.get(people)
        if each is None:
            each = self.each[people] = [at for at in range(people.bit_length()) if people >> at & 1]
        return each[int(self.random() * len(each))]
