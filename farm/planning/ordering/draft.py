"""A proposal in the making: its lots, the room they take, and what it costs; every step can be taken back exactly."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from farm.husbandry import odds
from farm.planning.allotments.records import Wanted
from farm.planning.machines import EggLoad, Room
from farm.planning.ordering import calendar, sizing
from farm.planning.ordering.calendar import Day
from farm.planning.ordering.racks import Fit, Racks, best_fit
from farm.planning.ordering.records import ANY, Law, Need, OrderKind
from farm.planning.ordering.sizing import Ask, Sizer, Start


@dataclass(frozen=True, eq=False)
class Lot:
    """Eggs of one set, or chicks of one intake, that make one batch.

    count: eggs or chicks. lines: places of the lines it serves. piece: as much of one line as there was room for, and
    closed to others. birds: expected on the first day, rounded up. over: of them, those nobody asked for. load: its
    eggs in the machines, None for an intake. taken: its place in the brooders.
    """

    number: int
    kind: OrderKind
    day: Day
    start: Start
    count: int
    lines: tuple[int, ...]
    piece: bool
    birds: int
    over: int
    load: EggLoad | None
    taken: object


class Draft:
    """Lots by number, and for every line the lots that serve it and the birds it lacks."""

    def __init__(self, need: Need) -> None:
        self.need = need
        self.lines: list[Wanted] = sorted(need.wanted, key=lambda line: line.key)
        self.suppliers = sorted(need.suppliers, key=lambda supplier: supplier.key)
        self.sizer, self.racks = Sizer(need.confidence), Racks(need.machines, need.loads)
        self.set_days = [calendar.set_days(need, line) for line in self.lines]
        self.intake_days = [calendar.intake_days(need, line) for line in self.lines]
        self.lots: dict[int, Lot] = {}
        self.of_line: list[list[int]] = [[] for _ in self.lines]
        self.short = [0] * len(self.lines)
        self._judge(range(len(self.lines)))
        #: Which of several machines with room for a set takes it.
        self.fit: Fit = best_fit
        self._journal: list[tuple[bool, Lot]] = []
        self._number = 0

    # What it costs

    def cost(self) -> tuple[int, int]:
        """Return the cost by the need's weights and, between equal ones, what prefers lines of the first priority."""
        weights, ranked = self.need.weights, 0
        for line, short in zip(self.lines, self.short, strict=True):
            ranked -= short * line.priority
        over = sum(lot.over for lot in self.lots.values())
        return (
            weights.unmet * sum(self.short) + weights.batch * len(self.lots) + weights.over_hatch * over,
            ranked,
        )

    def law(self, line: int) -> Law:
        """Return the law of the birds a line has from elsewhere and from lots that hold a piece of it."""
        wanted = self.lines[line]
        laws = [self.need.besides.get(wanted.key, np.ones(1))]
        for number in self.of_line[line]:
            lot = self.lots[number]
            if lot.piece:
                age = (calendar.handed_over(wanted, lot.day) - lot.day.hatch_day).days
                laws.append(sizing.available(lot.kind, lot.start, lot.count, wanted.sex, age))
        return odds.together(laws)

    def ask(self, line: int, day: Day) -> Ask:
        """Return what a line asks of a batch beginning on a day."""
        wanted = self.lines[line]
        law = self.law(line)
        capped = [*law[: wanted.birds].tolist(), float(law[wanted.birds :].sum())]
        age = (calendar.handed_over(wanted, day) - day.hatch_day).days
        return Ask(wanted.birds, wanted.sex, age, tuple(capped) if len(law) > 1 else (1.0,))

    def start(self, day: Day, lines: Iterable[int]) -> Start:
        """Return how a batch for these lines begins: bought of one sex where all want it and it is sold so."""
        kind = self.need.kinds[self.lines[next(iter(lines))].type]
        if day.supplier is None:
            return sizing.hatching(kind)
        sexes = {self.lines[line].sex for line in lines}
        sex = sexes.pop() if day.supplier.sexed and len(sexes) == 1 else ANY
        return sizing.bought(kind, sex, day.supplier.age_days)

    # Steps

    def begin(
        self,
        day: Day,
        lines: Sequence[int],
        at: Room | None = None,
        count: int | None = None,
        strict: bool = False,
    ) -> Lot | None:
        """Add a lot for lines on a day; None, and nothing changed, where it finds no room.

        at: the machines to keep to, if they have room, or in any case if `strict`. count: a piece of so many eggs or
        chicks, however many are asked for.
        """
        kind, start = self.need.kinds[self.lines[lines[0]].type], self.start(day, lines)
        size = count or self.sizer.smallest(kind, start, [self.ask(line, day) for line in lines])
        if size is None:
            return None
        where = None
        if day.supplier is None:
            where = self._machines(kind, day, size, at, strict)
            if where is None:
                return None
        else:
            size = max(size, day.supplier.minimum)
        birds = expected_birds(start, size)
        leaves = max(calendar.gone(self.lines[line], day) for line in lines)
        taken = self.need.rooms.take(kind.type, day.arrival, day.age_days, birds, leaves)
        if taken is None:
            return None
        self._number += 1
        over = max(birds - sum(self._lacks(line) for line in lines), 0)
        load = None if where is None else self._load(kind, day, size, where)
        lot = Lot(
            self._number, kind, day, start, size, tuple(lines), count is not None, birds, over, load, taken
        )
        self._put(lot)
        self._journal.append((True, lot))
        return lot

    def drop(self, number: int) -> Lot:
        """Take a lot out."""
        lot = self.lots[number]
        self._take_out(lot)
        self._journal.append((False, lot))
        return lot

    def mark(self) -> int:
        """Return where the draft stands, for `back`."""
        return len(self._journal)

    def back(self, mark: int) -> None:
        """Take back every step since a mark."""
        while len(self._journal) > mark:
            added, lot = self._journal.pop()
            if added:
                self._take_out(lot)
            else:
                self.need.rooms.put_back(lot.taken)
                self._put(lot)

    def leaves_on(self, lot: Lot) -> date:
        """Return the first day without birds of a lot: the last of its lines has taken its own the day before."""
        return max(calendar.gone(self.lines[line], lot.day) for line in lot.lines)

    def joins(self, line: int, lot: Lot) -> bool:
        """Return whether a line may be served by a lot planned for others: type, breed and days."""
        wanted = self.lines[line]
        breed = self.breed(lot).casefold()
        return (
            lot.kind.type == wanted.type
            and not lot.piece
            and line not in lot.lines
            and (not breed or wanted.breed.casefold() in ("", breed))
            and calendar.suits(wanted, lot.day)
        )

    def breed(self, lot: Lot) -> str:
        """Return the breed the lines of a lot ask for, "" where none names one; they never name two."""
        return next((name for line in lot.lines if (name := self.lines[line].breed)), "")

    def served(self, line: int) -> bool:
        """Return whether some lot meets the rest of a line, whatever else it has."""
        return any(not self.lots[number].piece for number in self.of_line[line])

    def judge(self, line: int) -> None:
        """Work out anew what a line lacks."""
        self._judge((line,))

    def _machines(self, kind: OrderKind, day: Day, eggs: int, at: Room | None, strict: bool) -> Room | None:
        rooms = self.racks.room(kind, day)
        if at is not None:
            same = [each for each in rooms if (each.setter, each.hatcher) == (at.setter, at.hatcher)]
            if same and same[0].eggs >= eggs:
                return same[0]
            if strict:
                return None
        return self.fit(rooms, eggs)

    def _load(self, kind: OrderKind, day: Day, eggs: int, where: Room) -> EggLoad:
        assert day.set_on is not None
        assert day.lockdown is not None
        key = f"proposed {self._number:06}"
        return EggLoad(
            key, kind.name, kind.species, kind.size, eggs, where.setter, where.hatcher,
            day.set_on, day.lockdown, day.hatch_day,
        )  # fmt: skip

    def _put(self, lot: Lot) -> None:
        """Enter a lot whose place in the brooders is taken."""
        if lot.load is not None:
            self.racks.put(lot.load)
        self.lots[lot.number] = lot
        for line in lot.lines:
            self.of_line[line].append(lot.number)
        self._judge(lot.lines)

    def _take_out(self, lot: Lot) -> None:
        if lot.load is not None:
            self.racks.take_out(lot.load)
        self.need.rooms.give_back(lot.taken)
        del self.lots[lot.number]
        for line in lot.lines:
            self.of_line[line].remove(lot.number)
        self._judge(lot.lines)

    def _lacks(self, line: int) -> int:
        """Return the birds a line still lacks in the mean."""
        return max(self.lines[line].birds - math.floor(odds.mean(self.law(line))), 0)

    def _judge(self, lines: Iterable[int]) -> None:
        for line in lines:
            wanted = self.lines[line].birds
            sure = wanted if self.served(line) else promised(self.law(line), self.need.confidence)
            self.short[line] = max(wanted - sure, 0)


def expected_birds(start: Start, count: int) -> int:
    """Return the birds expected on a batch's first day, rounded up as its record has them."""
    return math.ceil(round(count * sizing.chance_each(start), 6))


def promised(law: Law, confidence: float) -> int:
    """Return the most birds that are there with a confidence."""
    at_least = np.cumsum(law[::-1])[::-1]
    return max(int(np.flatnonzero(at_least >= confidence - odds.ROUNDING)[-1]), 0)
