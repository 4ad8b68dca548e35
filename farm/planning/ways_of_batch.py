"""Ways out that change one batch: another arrival, fewer birds, an earlier leaving, more parts."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import date, timedelta

from farm.phrase import N_, Phrase, Value
from farm.planning.changes import AllowSplit, Change, ChangeBirds, LeaveEarly, MoveArrival, with_birds
from farm.planning.loads import leave_day
from farm.planning.problem import Arrival, Batch
from farm.planning.solution import BatchPlan
from farm.planning.ways import EFFORT, Case, Way, days_between
from farm.planning.yard import Yard

FURTHEST, EARLIEST_LEAVE, MOST_PARTS = 56, 56, 3


class OfBatch:
    """The ways of one batch of a case, each tried against everyone else's plan as it is."""

    def __init__(self, case: Case, key: str) -> None:
        self.case, self.batch = case, case.batch(key)
        self.plan: BatchPlan = case.solution.by_batch[key]
        self.rest = case.others(key)
        reach = (self.plan.arrival - case.problem.start).days + FURTHEST + 1
        leaves = leave_day(self.batch, self.plan.arrival)
        life = 0 if leaves is None else (leaves - self.plan.arrival).days
        self.yard = Yard(case.problem, self.rest, reach + life)
        self.here = case.is_here(self.batch)
        self.whole = not self.batch.parts

    def arrival(self) -> Iterator[Way]:
        """Yield the nearest earlier and the nearest later arrival that fit everyone."""
        if self.here or not self.whole:
            return
        first = max(self.plan.arrival - timedelta(days=FURTHEST), self.case.problem.start)
        days = (self.plan.arrival - first).days + FURTHEST + 1
        fits = self.yard.widest(self.batch, first, days) >= self.batch.birds
        known = set(self.batch.arrival.days())
        weekdays = self.batch.arrival.weekdays
        able = [
            day
            for at in range(days)
            if fits[at] and (day := first + timedelta(days=at)) not in known
            and (not weekdays or day.weekday() in weekdays)
            and days_between(day, self.batch.arrival.day) <= FURTHEST
        ]  # fmt: skip
        able.sort(key=lambda day: (days_between(day, self.plan.arrival), day))
        for side in (True, False):
            for day in [day for day in able if (day < self.plan.arrival) is side][:2]:
                way = self._arriving(day)
                if way is not None:
                    yield way
                    break

    def _arriving(self, day: date) -> Way | None:
        batch = replace(self.batch, arrival=Arrival(day))
        attempt = self.yard.attempt(batch, day)
        by = (day - self.batch.arrival.day).days
        values: dict[str, Value] = {"batch": batch.name, "days": abs(by), "day": day}
        if by < 0:
            text, many = (
                N_("%(batch)s come %(days)d day earlier, on %(day)s"),
                N_("%(batch)s come %(days)d days earlier, on %(day)s"),
            )
        else:
            text, many = (
                N_("%(batch)s come %(days)d day later, on %(day)s"),
                N_("%(batch)s come %(days)d days later, on %(day)s"),
            )
        return self._way("arrival", (MoveArrival(batch.key, day),), attempt.plan, Phrase(text, values, many, "days"),
                         abs(by) * EFFORT["arrival_day"])  # fmt: skip

    def fewer(self) -> Iterator[Way]:
        """Yield the largest number of birds that fits, for birds that are still to come.

        Birds that are here can only be fewer once the keeper records which of them left: no plan can adopt that.
        """
        if not self.whole or self.here:
            return
        birds = int(self.yard.widest(self.batch, self.plan.arrival, 1)[0])
        # Survivors are rounded anew for the smaller batch, which may cost a bird.
        for count in range(min(birds, self.batch.birds - 1), max(birds - 3, 0), -1):
            attempt = self.yard.attempt(with_birds(self.batch, count), self.plan.arrival)
            gone = self.batch.birds - count
            phrase = Phrase(
                N_("%(batch)s are %(gone)d bird fewer: %(birds)d"),
                {"batch": self.batch.name, "gone": gone, "birds": count},
                N_("%(batch)s are %(gone)d birds fewer: %(birds)d"),
                "gone",
            )
            way = self._way(
                "fewer", (ChangeBirds(self.batch.key, count),), attempt.plan, phrase, gone * EFFORT["bird"]
            )
            if way is not None:
                yield way
                return

    def would_fit_if_fewer(self) -> bool:
        """Return whether birds that are here would fit if all but one were gone: then something helps after all."""
        return self.here and self.batch.birds > 1 and self._fits(with_birds(self.batch, 1))

    def leave(self) -> Iterator[Way]:
        """Yield the fewest days by which the birds must leave earlier."""
        leaves = leave_day(self.batch, self.plan.arrival)
        if leaves is None:
            return
        first = max(
            self.plan.arrival, self.case.problem.start, *(past.end for past in self.batch.history), date.min
        )
        most = min(EARLIEST_LEAVE, (leaves - first).days - 1)
        stays = self._bisect(most, lambda days: self._fits(self._leaving(most + 1 - days)))
        if not stays:
            return
        days = most + 1 - stays
        phrase = Phrase(
            N_("%(batch)s leave %(days)d day earlier, on %(day)s"),
            {"batch": self.batch.name, "days": days, "day": leaves - timedelta(days=days)},
            N_("%(batch)s leave %(days)d days earlier, on %(day)s"),
            "days",
        )
        attempt = self.yard.attempt(self._leaving(days), self.plan.arrival)
        way = self._way(
            "leave", (LeaveEarly(self.batch.key, days),), attempt.plan, phrase, days * EFFORT["day_early"]
        )
        if way is not None:
            yield way

    def split(self) -> Iterator[Way]:
        """Yield the batch in two parts, else in three, each as large as fits."""
        held = any(past.end > self.case.problem.start for past in self.batch.history)
        if self.batch.history or held or not self.whole:
            return
        for parts in range(2, MOST_PARTS + 1):
            sizes = self._sizes(parts)
            if sizes is None:
                continue
            attempt = self.yard.attempt(self.batch, self.plan.arrival, sizes)
            changes: tuple[Change, ...] = (
                (AllowSplit(self.batch.key, parts),) if self.batch.max_parts < parts else ()
            )
            numbers = {f"part{at}": size for at, size in enumerate(sizes)}
            text = (
                N_("%(batch)s are split: %(part0)d and %(part1)d birds")
                if parts == 2
                else N_("%(batch)s are split in three: %(part0)d, %(part1)d and %(part2)d birds")
            )
            phrase = Phrase(text, {"batch": self.batch.name, **numbers})
            way = self._way("split", changes, attempt.plan, phrase, (parts - 1) * EFFORT["split"])
            if way is not None:
                yield way
                return

    def _sizes(self, parts: int) -> list[int] | None:
        """Return parts that fit one after the other, each but the last the widest there is; None where they do not."""
        left, sizes, yard, plans = self.batch.birds, list[int](), self.yard, self.rest
        for at in range(parts):
            if at:
                yard = Yard(self.case.problem, plans, yard.ground.width)
            widest = int(yard.widest(self.batch, self.plan.arrival, 1)[0])
            size = left if at == parts - 1 else min(widest, left - (parts - 1 - at))
            if size < 1 or size > widest:
                return None
            sizes.append(size)
            left -= size
            made = yard.attempt(self.batch, self.plan.arrival, [size]).plan
            earlier = [part for plan in plans if plan.batch == self.batch.key for part in plan.parts]
            named = [replace(part, key=str(place + 1)) for place, part in enumerate([*earlier, *made.parts])]
            plans = (*self.rest, replace(made, parts=tuple(named)))
        return sizes

    def _leaving(self, days: int) -> Batch:
        found = LeaveEarly(self.batch.key, days).apply(self.case.problem)
        return next(batch for batch in found.batches if batch.key == self.batch.key)

    def _fits(self, batch: Batch) -> bool:
        return not self.yard.attempt(batch, self.plan.arrival).short

    def _bisect(self, most: int, fits: Callable[[int], bool]) -> int:
        """Return the largest number up to `most` that fits, 0 if none does; fits is asked of few."""
        low, high = 0, most + 1
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (middle, high) if fits(middle) else (low, middle)
        return low

    def _way(
        self, kind: str, changes: tuple[Change, ...], plan: BatchPlan, phrase: Phrase, effort: int
    ) -> Way | None:
        return self.case.verified(kind, changes, (*self.rest, plan), phrase, effort)
