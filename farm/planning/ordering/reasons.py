"""Why a line is not met: what is in the way on the day that comes nearest, with numbers."""

from __future__ import annotations

from dataclasses import dataclass

from farm.phrase import N_, Phrase, Value
from farm.planning.ordering import calendar, sizing
from farm.planning.ordering.calendar import Day
from farm.planning.ordering.draft import Draft


@dataclass(frozen=True, slots=True)
class Nearest:
    """A day on which the rest of a line could begin: what it takes, and the eggs there is room for (MOST: bought)."""

    day: Day
    count: int
    room: int


def missing(draft: Draft, line: int) -> Phrase:
    """Return why a line lacks birds."""
    if not draft.set_days[line] and not draft.intake_days[line]:
        return _no_day(draft, line)
    near = nearest(draft, line)
    if near is None or near.room < near.count:
        return _machine_full(draft, line, near)
    return _brooder_full(draft, line, near)


def nearest(draft: Draft, line: int) -> Nearest | None:
    """Return the day with room for the largest share of what a line lacks, the latest among equals."""
    kind, best = draft.need.kinds[draft.lines[line].type], None
    for day in (*draft.set_days[line], *draft.intake_days[line]):
        count = draft.sizer.smallest(kind, draft.start(day, (line,)), [draft.ask(line, day)])
        if count is None:
            continue
        room = sizing.MOST
        if day.supplier is None:
            rooms = draft.racks.room(kind, day)
            room = rooms[0].eggs if rooms else 0
        if best is None or min(room / count, 1) > min(best.room / best.count, 1):
            best = Nearest(day, count, room)
    return best


def _no_day(draft: Draft, line: int) -> Phrase:
    wanted = draft.lines[line]
    kind = draft.need.kinds[wanted.type]
    sellers = [each for each in draft.suppliers if wanted.type in each.types]
    first, last = calendar.span(wanted)
    if not kind.can_set:
        if not sellers:
            return Phrase(
                N_("No eggs of %(type)s can be set here, and no supplier sells them"), {"type": kind.name}
            )
        text = N_(
            "No supplier of %(type)s delivers chicks that would be of the right age, hatched %(first)s to %(last)s"
        )
        return Phrase(text, {"type": kind.name, "first": first, "last": last})
    soonest = calendar.setting(kind, last).set_on
    assert soonest is not None
    if soonest < draft.need.today:
        return Phrase(N_("Too late: eggs would have had to be set by %(day)s"), {"day": soonest})
    values: dict[str, Value] = {"first": first, "last": last}
    return Phrase(
        N_("No day for setting eggs leads to a hatch from %(first)s to %(last)s on an allowed day"), values
    )


def _machine_full(draft: Draft, line: int, near: Nearest | None) -> Phrase:
    if near is None:
        return Phrase(
            N_("No number of eggs up to %(most)d is sure enough to give %(birds)d birds"),
            {"most": sizing.MOST, "birds": draft.lines[line].birds},
        )
    assert near.day.set_on is not None
    lacking = near.count - near.room
    values: dict[str, Value] = {"eggs": lacking, "day": near.day.set_on, "all": near.count}
    return Phrase(
        N_("The machines lack room for %(eggs)d egg of %(all)d, set on %(day)s at the latest"),
        values,
        N_("The machines lack room for %(eggs)d eggs of %(all)d, set on %(day)s at the latest"),
        "eggs",
    )


def _brooder_full(draft: Draft, line: int, near: Nearest) -> Phrase:
    kind, day = draft.need.kinds[draft.lines[line].type], near.day
    leaves = calendar.gone(draft.lines[line], day)
    asked = (kind.type, day.arrival, day.age_days, leaves)
    room, tight = draft.need.rooms.most(*asked), draft.need.rooms.narrowest(*asked)
    if day.supplier is not None and room >= near.count:
        return Phrase(
            N_(
                "%(supplier)s sells no fewer than %(minimum)d chicks, and the brooders have room for %(room)d"
            ),
            {"supplier": day.supplier.name, "minimum": day.supplier.minimum, "room": room},
        )
    if tight is None:
        return Phrase(
            N_("No housing takes such birds from %(day)s: room for %(room)d"),
            {"day": day.arrival, "room": room},
        )
    housing, full = tight
    return Phrase(
        N_("%(housing)s is full on %(day)s: birds that come on %(arrival)s have room for %(room)d"),
        {"housing": housing, "day": full, "arrival": day.arrival, "room": room},
    )
