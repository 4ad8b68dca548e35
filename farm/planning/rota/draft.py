"""A rota while it is being made: whole numbers and bits, with its bill kept up as people take over from each other."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from operator import sub

from farm.planning.rota.choices import Choices, place
from farm.planning.rota.records import Assigned, Bill, RotaProblem
from farm.planning.rota.score import priced, week_of

#: A week's wish of somebody who has none, minutes.
NO_WISH = 1 << 60
#: Counts before a step, to go back to: over, blocks, changes, unliked, touched.
Counts = tuple[int, int, int, int, int]


class Plan:
    """What stays as it is while a rota is made: the problem in numbers.

    People and jobs are known by their places in `Choices`; sets of people are bits. cell, week: of each job. earlier,
    later: the same chore's job before and after, -1 for none. likes: who prefers a job that one of them could have.
    watch: the place of a job where a child may be at heat, -1 for any other. before: each cell's people in the rota
    in force, those unknown by now as one more bit. lanes: each cell's row of cells of the same round and group.
    """

    def __init__(self, problem: RotaProblem, open_: Choices, targets: Mapping[str, float]) -> None:
        self.problem, self.open = problem, open_
        people, jobs = open_.people, open_.jobs
        self.bit = {person.key: 1 << at for at, person in enumerate(people)}
        self.targets = [targets[person.key] for person in people]
        self.wish = [NO_WISH if p.max_week_minutes is None else p.max_week_minutes for p in people]
        self.minutes = [job.minutes for job in jobs]
        self.seats = [open_.fillable[job.key] for job in jobs]
        self.may = [self.bits(open_.may[job.key]) for job in jobs]
        self.pinned = [self.bits(open_.pinned.get(job.key, ())) for job in jobs]
        fond = {job.job: self.bits(p.key for p in people if job.job in p.prefers) for job in jobs}
        self.likes = [
            fond[job.job] if fond[job.job] & may else 0 for job, may in zip(jobs, self.may, strict=True)
        ]
        weeks = sorted({week_of(job.day, problem.first_weekday) for job in jobs})
        self.weeks = len(weeks)
        self.week = [weeks.index(week_of(job.day, problem.first_weekday)) for job in jobs]
        self._cells()
        self._chains()
        self._places()

    def bits(self, keys: Iterable[str]) -> int:
        """Return a set of people as bits; all whom the problem doesn't have are the bit after the last."""
        found = 0
        for key in keys:
            found |= self.bit.get(key, 1 << len(self.bit))
        return found

    def keys(self, bits: int) -> tuple[str, ...]:
        """Return the keys of a set of people, in order."""
        return tuple(key for key, bit in self.bit.items() if bit & bits)

    def _cells(self) -> None:
        jobs = self.open.jobs
        cells = {cell: at for at, cell in enumerate(sorted({job.cell for job in jobs}))}
        self.cell = [cells[job.cell] for job in jobs]
        self.in_cell: list[list[int]] = [[] for _ in cells]
        self.before, self.cell_may = [0] * len(cells), [0] * len(cells)
        for at, job in enumerate(jobs):
            self.in_cell[self.cell[at]].append(at)
            self.before[self.cell[at]] |= self.bits(self.problem.previous.get(job.key, ()))
            self.cell_may[self.cell[at]] |= self.may[at]
        rows: dict[tuple[str, str], list[int]] = defaultdict(list)
        for (_, round_, group), cell in cells.items():
            rows[round_, group].append(cell)
        self.lane: list[Sequence[int]] = [()] * len(cells)
        self.lane_at = [0] * len(cells)
        for row in rows.values():
            for at, cell in enumerate(row):
                self.lane[cell], self.lane_at[cell] = row, at
        self.lanes = list(rows.values())

    def _chains(self) -> None:
        jobs = self.open.jobs
        self.earlier, self.later = [-1] * len(jobs), [-1] * len(jobs)
        last: dict[tuple[str, str], int] = {}
        for at, job in enumerate(jobs):
            chore = job.key[0], job.round
            if chore in last:
                self.earlier[at], self.later[last[chore]] = last[chore], at
            last[chore] = at

    def _places(self) -> None:
        jobs, people = self.open.jobs, self.open.people
        self.adults = self.bits(person.key for person in people if person.adult)
        self.children = self.bits(person.key for person in people if person.child)
        risky = [at for at, job in enumerate(jobs) if job.heated and self.may[at] & self.children]
        places = {
            found: number for number, found in enumerate(dict.fromkeys(place(jobs[at]) for at in risky))
        }
        self.watch = [places.get(place(job), -1) for job in jobs]
        self.in_place: list[list[int]] = [[] for _ in places]
        self.at_heat: list[list[int]] = [[] for _ in places]
        for at, found in enumerate(self.watch):
            if found >= 0:
                self.in_place[found].append(at)
                if jobs[at].heated:
                    self.at_heat[found].append(at)


class Draft:
    """Who does what now, and what it costs. doing: people by job. load: minutes with those done before, by person."""

    def __init__(self, plan: Plan, doing: Sequence[int]) -> None:
        self.plan = plan
        self.doing = list(doing)
        self.load = [person.done for person in plan.open.people]
        self.weekly = [[0] * plan.weeks for _ in self.load]
        for at, people in enumerate(doing):
            for person in range(len(self.load)):
                if people >> person & 1:
                    self.load[person] += plan.minutes[at]
                    self.weekly[person][plan.week[at]] += plan.minutes[at]
        self.cells = [self._cell(cell) for cell in range(len(plan.in_cell))]
        jobs = range(len(self.doing))
        self.unfilled = sum(job.people - self.doing[at].bit_count() for at, job in enumerate(plan.open.jobs))
        self.over = sum(
            max(0, week - wish) for weeks, wish in zip(self.weekly, plan.wish, strict=True) for week in weeks
        )
        self.blocks = sum(people.bit_count() - 1 for people in self.cells if people)
        self.changes = sum(
            plan.earlier[at] >= 0 and self.doing[at] != self.doing[plan.earlier[at]] for at in jobs
        )
        self.unliked = sum(plan.likes[at] != 0 and not plan.likes[at] & self.doing[at] for at in jobs)
        self.touched = sum(was != 0 and was != now for was, now in zip(plan.before, self.cells, strict=True))

    @property
    def deviation(self) -> float:
        """Return the most minutes anybody is away from their target."""
        return max(map(abs, map(sub, self.load, self.plan.targets)), default=0.0)

    @property
    def bill(self) -> Bill:
        """Return the bill as it is kept up."""
        weights = self.plan.problem.weights
        return priced(
            weights,
            self.unfilled,
            self.deviation,
            self.over,
            self.blocks,
            self.changes,
            self.unliked,
            self.touched,
        )

    @property
    def counts(self) -> Counts:
        """Return the counts that `take_over` changes, to be put back by `give_back`."""
        return self.over, self.blocks, self.changes, self.unliked, self.touched

    def assigned(self) -> Assigned:
        """Return who does what, in words."""
        keys = self.plan.keys
        return {job.key: keys(self.doing[at]) for at, job in enumerate(self.plan.open.jobs)}

    def can_take(self, cell: int, out: int, comes: int) -> list[int]:
        """Return the jobs of a cell that one person has and another could have instead."""
        plan, doing, one, other = self.plan, self.doing, 1 << out, 1 << comes
        pinned, may = plan.pinned, plan.may
        return [
            at
            for at in plan.in_cell[cell]
            if (now := doing[at]) & one and not now & other and may[at] & other and not pinned[at] & one
        ]

    def take_over(self, cell: int, jobs: Sequence[int], out: int, comes: int) -> None:
        """Let one person take over these jobs of a cell from another, as `can_take` allows."""
        plan, doing = self.plan, self.doing
        earlier, later, likes = plan.earlier, plan.later, plan.likes
        both, moved, changes = (1 << out) | (1 << comes), 0, 0
        for at in jobs:
            was = doing[at]
            now = doing[at] = was ^ both
            moved += plan.minutes[at]
            if (other := earlier[at]) >= 0:
                changes += (doing[other] != now) - (doing[other] != was)
            if (other := later[at]) >= 0:
                changes += (doing[other] != now) - (doing[other] != was)
            if (liked := likes[at]) and both & liked:
                self.unliked += (not now & liked) - (not was & liked)
        self.changes += changes
        self._move(plan.week[jobs[0]], moved, out, comes)
        old = self.cells[cell]
        new = self.cells[cell] = self._cell(cell)
        self.blocks += new.bit_count() - old.bit_count()
        if before := plan.before[cell]:
            self.touched += (new != before) - (old != before)

    def give_back(self, cell: int, jobs: Sequence[int], out: int, comes: int) -> None:
        """Undo `take_over` of the same arguments, the counts apart; steps are undone backwards."""
        doing, minutes, moved = self.doing, self.plan.minutes, 0
        both = (1 << out) | (1 << comes)
        for at in jobs:
            doing[at] ^= both
            moved += minutes[at]
        week = self.plan.week[jobs[0]]
        for person, more in ((out, moved), (comes, -moved)):
            self.load[person] += more
            self.weekly[person][week] += more
        self.cells[cell] = self._cell(cell)

    def restore(self, counts: Counts) -> None:
        """Put the counts back to what they were."""
        self.over, self.blocks, self.changes, self.unliked, self.touched = counts

    def lonely(self, place: int) -> bool:
        """Say whether a child is at heat in a place with no adult there."""
        plan, doing = self.plan, self.doing
        return any(doing[at] & plan.children for at in plan.at_heat[place]) and not any(
            doing[at] & plan.adults for at in plan.in_place[place]
        )

    def _cell(self, cell: int) -> int:
        found, doing = 0, self.doing
        for at in self.plan.in_cell[cell]:
            found |= doing[at]
        return found

    def _move(self, week: int, minutes: int, out: int, comes: int) -> None:
        """Move minutes from one person to another."""
        wish, load, over = self.plan.wish, self.load, 0
        load[out] -= minutes
        load[comes] += minutes
        now = self.weekly[out][week] - minutes
        self.weekly[out][week] = now
        if (most := wish[out]) < now + minutes:
            over -= now + minutes - (now if now > most else most)
        now = self.weekly[comes][week] + minutes
        self.weekly[comes][week] = now
        if (most := wish[comes]) < now:
            was = now - minutes
            over += now - (was if was > most else most)
        self.over += over
