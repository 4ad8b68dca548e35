"""A better proposal: batches are taken out and their lines placed anew, so many times and never by the clock.

The first proposal is the classic one for points that stab intervals: lines by their last possible hatch day, each
joining a batch of its days or beginning one on its last day. With room for all, no proposal has fewer batches. Where
room is short that is only a start, and so lots of the same days or the same type are dropped and made anew in other
orders, until nothing is missing in as few batches as there can be; with few lines, every order is tried.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import permutations
from random import Random
from typing import TypeVar

from farm.planning.machines import Room
from farm.planning.machines.records import BOTH, HATCHER, SETTER
from farm.planning.ordering import calendar
from farm.planning.ordering.calendar import Day
from farm.planning.ordering.draft import Draft, Lot
from farm.planning.ordering.placing import Order, earliest, latest, place
from farm.planning.ordering.racks import best_fit, loose_fit

#: With so few lines every order of them is tried.
FEW = 4
#: Lots whose hatch days lie so near are neighbours.
NEAR_DAYS = 25
#: How often a step is for a line that lacks birds, and how often days are tried from the early end.
FOCUS, EVICTING, BACKWARDS, LOOSE = 0.9, 0.5, 0.4, 0.2
MOST_DROPPED = 3
SEED = 1

T = TypeVar("T")
Told = Callable[[int, int], bool]


def improve(draft: Draft, tries: int, report: Told | None = None) -> None:
    """Make the first proposal and better it; report(done, of all) returning False ends it where it stands."""
    told = report or (lambda done, of: True)
    _all(draft, first_order(draft))
    if not told(0, tries):
        return
    if len(draft.lines) <= FEW:
        _every_order(draft)
        return
    if settled(draft):
        return
    search = _Search(draft)
    for done in range(tries):
        search.step()
        if settled(draft) or not told(done + 1, tries):
            return


def first_order(draft: Draft, lines: Iterable[int] | None = None) -> list[int]:
    """Return lines by their last possible hatch day, then the first."""
    chosen = range(len(draft.lines)) if lines is None else lines
    return sorted(chosen, key=lambda at: (*reversed(calendar.span(draft.lines[at])), draft.lines[at].rank))


def settled(draft: Draft) -> bool:
    """Return whether nothing is missing and no proposal has fewer batches."""
    return not any(draft.short) and len(draft.lots) <= fewest(draft)


def fewest(draft: Draft) -> int:
    """Return a number of batches that no proposal without a bird missing undercuts: lines no one day serves."""
    reached: dict[str, set[object]] = {}
    count = 0
    for line in first_order(draft):
        if draft.of_line[line]:
            days = {*_days(draft, line)}
            kind = draft.lines[line].type
            if not days & reached.get(kind, set()):
                count += 1
                reached[kind] = days | reached.get(kind, set())
    return count


def _days(draft: Draft, line: int) -> Iterable[object]:
    for day in (*draft.set_days[line], *draft.intake_days[line]):
        yield day.arrival, day.supplier.key if day.supplier else ""


def _all(draft: Draft, lines: Sequence[int], order: Order = latest) -> None:
    for line in lines:
        place(draft, line, order)


def _every_order(draft: Draft) -> None:
    """Try the lines in every order, from both ends of their days; keep the best."""
    best = draft.cost()
    for order in (latest, earliest):
        for lines in permutations(range(len(draft.lines))):
            mark = draft.mark()
            for number in sorted(draft.lots):
                draft.drop(number)
            _all(draft, lines, order)
            if draft.cost() < best:
                best = draft.cost()
            else:
                draft.back(mark)


class _Search:
    """Steps that each drop a lot or a few and place their lines anew; a step that costs more is taken back."""

    def __init__(self, draft: Draft) -> None:
        self.draft, self.random = draft, Random(SEED)

    def step(self) -> None:
        """Make room for a line that lacks birds, or try to do with fewer lots."""
        draft = self.draft
        mark, before = draft.mark(), draft.cost()
        short = [line for line, missing in enumerate(draft.short) if missing]
        focus = self._draw(short) if short and self.random.random() < FOCUS else None
        evicting = focus is not None and self.random.random() < EVICTING
        lines = self._evict(focus) if focus is not None and evicting else self._drop(self._around(focus))
        if not lines:
            draft.back(mark)
            return
        lines |= set() if focus is None else {focus}
        if not self._place(lines, focus, before) or draft.cost() > before:
            draft.back(mark)

    def _place(self, lines: set[int], focus: int | None, most: tuple[int, int]) -> bool:
        """Place the focus first, then the lines dropped, in one order or another; False once it must cost more."""
        draft, unmet = self.draft, self.draft.need.weights.unmet
        rest = self._ordered(sorted(lines))
        if focus is not None:
            rest.sort(key=lambda line: line != focus)
        order = earliest if self.random.random() < BACKWARDS else latest
        draft.fit = loose_fit if self.random.random() < LOOSE else best_fit
        for done, line in enumerate(rest):
            if not place(draft, line, order):
                # The lines still to be placed may yet all be met; those that are placed cost what they cost.
                hoped = sum(draft.short[other] for other in rest[done + 1 :]) * unmet
                if draft.cost()[0] - hoped > most[0]:
                    return False
        return True

    def _around(self, focus: int | None) -> list[Lot]:
        """Return the lots to drop: some in the way of the focus, or one of few lines and its neighbours."""
        draft = self.draft
        lots = sorted(draft.lots.values(), key=lambda lot: (lot.day.hatch_day, lot.kind.type, lot.number))
        if focus is not None:
            pool = [lot for lot in lots if _meets(draft, focus, lot)]
        elif lots:
            # Of a few drawn, the one that serves fewest lines is the likeliest to be spared.
            first = min((self._draw(lots) for _ in range(3)), key=lambda lot: (len(lot.lines), lot.number))
            pool = [lot for lot in lots if lot.kind.type == first.kind.type and _near(lot.day, first.day)]
        else:
            pool = []
        wanted = 1 + int(self.random.random() * MOST_DROPPED)
        found: list[Lot] = []
        while pool and len(found) < wanted:
            found.append(pool.pop(int(self.random.random() * len(pool))))
        return found

    def _evict(self, focus: int) -> set[int]:
        """Give the focus a machine on one of its days, whatever eggs must leave it; return the lines to place."""
        draft, wanted = self.draft, self.draft.lines[focus]
        pairs = _pairs(draft, wanted.type)
        if not draft.set_days[focus] or not pairs:
            return set()
        lines = self._drop([draft.lots[number] for number in draft.of_line[focus]])
        day, (setter, hatcher) = self._draw(draft.set_days[focus]), self._draw(pairs)
        inside = [
            lot.number for lot in draft.lots.values() if lot.load is not None
            and {lot.load.setter, lot.load.hatcher} & {setter, hatcher} and _near(lot.day, day)
        ]  # fmt: skip
        self.random.shuffle(inside)
        at = Room(setter, hatcher, 0)
        while draft.begin(day, (focus,), at, strict=True) is None:
            if not inside:
                return set()
            number = inside.pop()
            lines |= self._drop([draft.lots[number]]) if number in draft.lots else set()
        return lines | {focus}

    def _draw(self, among: Sequence[T]) -> T:
        return among[int(self.random.random() * len(among))]

    def _drop(self, lots: Iterable[Lot]) -> set[int]:
        """Drop lots, and with a line that is spread over several all of those; return the lines to place."""
        draft, lines = self.draft, set[int]()
        waiting = [lot.number for lot in lots]
        while waiting:
            number = waiting.pop()
            if number in draft.lots:
                lot = draft.drop(number)
                lines.update(lot.lines)
                for line in lot.lines:
                    waiting += draft.of_line[line]
        return lines

    def _ordered(self, lines: list[int]) -> list[int]:
        """Return lines by their last day, the largest first, or any way."""
        found = first_order(self.draft, lines)
        draw = self.random.random()
        if draw < 1 / 3:
            return sorted(found, key=lambda line: -self.draft.lines[line].birds)
        if draw < 2 / 3:
            self.random.shuffle(found)
        return found


def _meets(draft: Draft, line: int, lot: Lot) -> bool:
    """Return whether a lot may be in a line's way, in a machine or a brooder."""
    first, last = calendar.span(draft.lines[line])
    return (first - lot.day.hatch_day).days <= NEAR_DAYS and (lot.day.hatch_day - last).days <= NEAR_DAYS


def _near(day: Day, other: Day) -> bool:
    return abs((day.hatch_day - other.hatch_day).days) <= NEAR_DAYS


def _pairs(draft: Draft, kind: str) -> list[tuple[str, str]]:
    """Return the machines, one or a pair, that eggs of a type can be set and hatch in when nothing else is."""
    given, able = draft.need.kinds[kind], draft.racks.machines
    able = tuple(
        each for each in able
        if each.capacity.get(given.size) and (not each.species or given.species in each.species)
    )  # fmt: skip
    return [
        (one.key, other.key)
        for one in able
        for other in able
        if (one is other and one.does == BOTH)
        or (one is not other and one.does != HATCHER and other.does != SETTER)
    ]
