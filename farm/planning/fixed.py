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

    been: the last past stay. edges: days on which something fixed begins or ends. gaps: those of the pins, except where
    a pin is only cut off as the birds leave. pins: cut so that none overlap; where two contradict, the earlier one
    holds. constant: the price of the arrival and of pin days that cannot be kept.
    """

    first: int
    end: int
    leaves: bool
    been: Fixed | None
    past: tuple[Fixed, ...]
    pins: tuple[Fixed, ...]
    adopted: tuple[Fixed, ...]
    edges: frozenset[int]
    gaps: frozenset[int]
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
    wished = _wished(ground, batch, key)
    pins = _cut(wished, first, end)
    adopted = _adopted(ground, batch, place)
    edges = {edge for stay in (*pins, *adopted) for edge in (stay.start, stay.end)}
    shift = abs(arrival - index(batch.arrival.day)) * ground.weights.arrival if place == 0 else 0
    asked = sum(max(min(pin.end, ground.width) - max(pin.start, 0), 0) for pin in wished)
    beside = {edge for pin in pins for edge in (pin.start, pin.end)}
    return Facts(
        first=first,
        end=max(end, first),
        leaves=leave is not None,
        been=None if been is None else Fixed(ground.row[been.housing], index(been.start), index(been.end)),
        past=past,
        pins=pins,
        adopted=adopted,
        edges=frozenset(edges),
        gaps=frozenset(beside if end in {pin.end for pin in wished} else beside - {end}),
        constant=shift + (asked - _kept(wished, pins, past, max(arrival, 0))) * ground.weights.pins,
    )


def _wished(ground: Ground, batch: Batch, key: str) -> list[Fixed]:
    """Return the pins of a part as the keeper set them, in the order in which they hold against each other."""
    found = [
        Fixed(ground.row[pin.housing], ground.days.index(pin.start), ground.days.index(pin.end))
        for pin in ground.problem.pins
        if pin.batch == batch.key and pin.part in ("", key)
    ]
    return sorted(found, key=lambda pin: (pin.start, pin.end, pin.row))


def _cut(wished: list[Fixed], first: int, end: int) -> tuple[Fixed, ...]:
    """Return the pins that can be kept, in order."""
    found: list[Fixed] = []
    reached = first
    for pin in wished:
        start, stop = max(pin.start, reached), min(pin.end, end)
        if start < stop:
            found.append(Fixed(pin.row, start, stop))
            reached = stop
    return tuple(found)


def _kept(wished: list[Fixed], pins: tuple[Fixed, ...], past: tuple[Fixed, ...], here: int) -> int:
    """Return the pins' days that the pins as cut, and the past from column `here`, keep."""
    lived = [Fixed(stay.row, max(stay.start, here), stay.end) for stay in past] + list(pins)
    return sum(
        max(min(one.end, pin.end) - max(one.start, pin.start), 0)
        for pin in wished
        for one in lived
        if one.row == pin.row
    )


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
