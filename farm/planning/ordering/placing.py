"""Where one line's birds come from: a batch planned anyway, a new one, or several where none is large enough."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import NamedTuple

from farm.planning.machines import Room
from farm.planning.ordering import calendar, sizing
from farm.planning.ordering.calendar import Day
from farm.planning.ordering.draft import Draft, Lot, expected_birds

#: The most lots one line is spread over.
PIECES = 6

#: The order in which days are tried.
Order = Callable[[Sequence[Day]], Sequence[Day]]


def latest(days: Sequence[Day]) -> Sequence[Day]:
    """Return days as they are listed: the latest first, so that birds are no older than they must be."""
    return days


def earliest(days: Sequence[Day]) -> Sequence[Day]:
    """Return days with the earliest first."""
    return days[::-1]


def place(draft: Draft, line: int, order: Order = latest, alone: bool = False) -> bool:
    """Find birds for a line, or as many as there is room for; return whether it is met.

    In turn: join a lot that is planned anyway (not if `alone`), set eggs, buy chicks, and spread it over several lots.
    A lot that costs more than the birds it brings are worth is left out.
    """
    if draft.short[line] == 0:
        return True
    before = draft.cost()
    mark = draft.mark()
    if whole(draft, line, order, alone):
        if draft.cost() < before:
            return True
        draft.back(mark)
    return _in_pieces(draft, line, order, alone)


def whole(draft: Draft, line: int, order: Order = latest, alone: bool = False) -> bool:
    """Meet a line, or what it still lacks, with one lot; False, and nothing changed, where that cannot be."""
    if not alone and _join(draft, line):
        return True
    return any(
        draft.begin(day, (line,)) is not None
        for days in (draft.set_days[line], draft.intake_days[line])
        for day in order(days)
    )


def _join(draft: Draft, line: int) -> bool:
    able = [lot for lot in draft.lots.values() if draft.joins(line, lot)]
    for lot in sorted(able, key=lambda lot: (-lot.day.hatch_day.toordinal(), lot.number)):
        if grown(draft, lot, (*lot.lines, line)) is not None:
            return True
    return False


def begins(draft: Draft, line: int, day: Day) -> bool:
    """Meet a line with a lot that begins on one day, planned anyway or new."""
    return any(
        lot.day == day and draft.joins(line, lot) and grown(draft, lot, (*lot.lines, line)) is not None
        for lot in sorted(draft.lots.values(), key=lambda lot: lot.number)
    ) or draft.begin(day, (line,)) is not None  # fmt: skip


def grown(draft: Draft, lot: Lot, lines: Sequence[int]) -> Lot | None:
    """Return a lot made anew for other lines on its day; None, and nothing changed, where there is no room."""
    mark = draft.mark()
    draft.drop(lot.number)
    at = None if lot.load is None else Room(lot.load.setter, lot.load.hatcher, lot.count)
    found = draft.begin(lot.day, sorted(lines), at)
    if found is None:
        draft.back(mark)
    return found


class Piece(NamedTuple):
    """So many eggs or chicks on a day, and the birds expected of them."""

    birds: float
    day: Day
    size: int


def _in_pieces(draft: Draft, line: int, order: Order, alone: bool) -> bool:
    for _ in range(PIECES - 1):
        mark, before = draft.mark(), draft.cost()
        piece = largest(draft, line, order)
        if piece is None or draft.begin(piece.day, (line,), count=piece.size) is None:
            return False
        if whole(draft, line, order, alone) and draft.cost() < before:
            return True
        if draft.cost() >= before:
            draft.back(mark)
            return False
    return False


def largest(draft: Draft, line: int, order: Order = latest) -> Piece | None:
    """Return the piece of a line that brings most birds, of those there is room for; the first tried among equals."""
    best: Piece | None = None
    tries = [(_eggs(draft, line, day), day) for day in order(draft.set_days[line])]
    tries += [(sizing.MOST, day) for day in order(draft.intake_days[line])]
    for room, day in sorted(tries, key=lambda each: -each[0]):
        found = fitting(draft, line, day, room, 0.0 if best is None else best.birds)
        if found is not None:
            best = found
    return best


def fitting(draft: Draft, line: int, day: Day, most: int, beat: float = 0.0) -> Piece | None:
    """Return the most of a line that may begin on a day, in `most` eggs or chicks and what the brooders hold.

    beat: birds it must bring more than; None where it cannot.
    """
    start = draft.start(day, (line,))
    if most * sizing.chance_each(start) <= beat:
        return None
    kind = draft.need.kinds[draft.lines[line].type]
    asked = draft.sizer.smallest(kind, start, [draft.ask(line, day)])
    count = min(most, asked or sizing.MOST)
    if count * sizing.chance_each(start) <= beat:
        return None
    leaves = calendar.gone(draft.lines[line], day)
    room = draft.need.rooms.most(kind.type, day.arrival, day.age_days, leaves)
    while count > 0 and expected_birds(start, count) > room:
        count = min(count - 1, int(room / sizing.chance_each(start)) + 1)
    if count * sizing.chance_each(start) <= beat or (
        day.supplier is not None and count < day.supplier.minimum
    ):
        return None
    return Piece(count * sizing.chance_each(start), day, count)


def _eggs(draft: Draft, line: int, day: Day) -> int:
    rooms = draft.racks.room(draft.need.kinds[draft.lines[line].type], day)
    return rooms[0].eggs if rooms else 0
