"""What is fixed about one part before any plan: its days, its past, its pins, and where the adopted plan has it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

from farm.planning import suits
from farm.planning.ground import Ground
from farm.planning.loads import leave_day
from farm.planning.problem import Batch


class Fixed(NamedTuple):
    """A stay by the row of its housing and columns [start, end); they may lie before the span."""

    row: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Facts:
    """Columns [first, end) are the plan's to decide.

    been: the last past stay. edges: days on which something fixed begins or ends. pins: cut so that none overlap;
    where two contradict, the earlier one holds. constant: the price of the arrival and of pin days that cannot be
    kept.
    """

    first: int
    end: int
    leaves: bool
    been: Fixed | None
    past: tuple[Fixed, ...]
    pins: tuple[Fixed, ...]
    adopted: tuple[Fixed, ...]
    edges: frozenset[int]
    constant: int


def facts(ground: Ground, batch: Batch, key: str, place: int, arrival: int) -> Facts:
    """Return the facts of a part, named by its key and its rank among the batch's parts, for an arrival column."""
    index = ground.days.index
    leave = leave_day(batch, ground.days.day(arrival))
    past = tuple(
        Fixed(ground.row[stay.housing], index(stay.start), index(stay.end))
        for stay in batch.history
        if stay.part in ("", key)
    )
    been = suits.last_past(batch, key)
    first = max([arrival, 0, *(stay.end for stay in past)])
    end = ground.width if leave is None else index(leave)
    pins, kept = _pins(ground, batch, key, max(arrival, 0), first, end, past)
    adopted = _adopted(ground, batch, place)
    edges = {edge for stay in (*pins, *adopted) for edge in (stay.start, stay.end)}
    shift = abs(arrival - index(batch.arrival.day)) * ground.weights.arrival if place == 0 else 0
    asked = sum(
        max(min(index(pin.end), ground.width) - max(index(pin.start), 0), 0)
        for pin in ground.problem.pins
        if pin.batch == batch.key and pin.part in ("", key)
    )
    return Facts(
        first=first,
        end=max(end, first),
        leaves=leave is not None,
        been=None if been is None else Fixed(ground.row[been.housing], index(been.start), index(been.end)),
        past=past,
        pins=pins,
        adopted=adopted,
        edges=frozenset(edges),
        constant=shift + (asked - kept) * ground.weights.pins,
    )


def _pins(
    ground: Ground, batch: Batch, key: str, here: int, first: int, end: int, past: tuple[Fixed, ...]
) -> tuple[tuple[Fixed, ...], int]:
    """Return the pins that can be kept, in order, and the pins' days they (and the past) keep."""
    found: list[Fixed] = []
    wished = [
        Fixed(ground.row[pin.housing], ground.days.index(pin.start), ground.days.index(pin.end))
        for pin in ground.problem.pins
        if pin.batch == batch.key and pin.part in ("", key)
    ]
    reached = first
    for pin in sorted(wished, key=lambda pin: (pin.start, pin.end, pin.row)):
        start, stop = max(pin.start, reached), min(pin.end, end)
        if start < stop:
            found.append(Fixed(pin.row, start, stop))
            reached = stop
    lived = [Fixed(stay.row, max(stay.start, here), stay.end) for stay in past] + found
    kept = sum(
        max(min(one.end, pin.end) - max(one.start, pin.start), 0)
        for pin in wished
        for one in lived
        if one.row == pin.row
    )
    return tuple(found), kept


def _adopted(ground: Ground, batch: Batch, place: int) -> tuple[Fixed, ...]:
    """Return the adopted stays of the part of this rank, or of the last one, where their housing is still there."""
    plan = ground.adopted.get(batch.key)
    if plan is None or not plan.parts:
        return ()
    part = plan.parts[min(place, len(plan.parts) - 1)]
    return tuple(
        Fixed(ground.row.get(stay.housing, -1), ground.days.index(stay.start), ground.days.index(stay.end))
        for stay in part.stays
        if stay.housing is not None
    )
