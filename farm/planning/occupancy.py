"""How full every housing is on every day, against what it can give.

Two axes: rows are rooms (or parts), columns are the days of the window. A part is one stay's birds; a group
is the batch they belong to, with what one bird asks for by age. All sums run over whole rows, never over
single days.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from functools import cached_property
from typing import Any

import numpy as np
import numpy.typing as npt

from farm.planning.premises import TOLERANCE, Bools, Floats, Group, Ints, Needs, Part, Room
from farm.planning.window import Window

__all__ = ["Group", "Needs", "Occupancy", "Part", "Room", "occupancy"]

Rows = npt.NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Occupancy:
    """Loads by room and day; every array is rooms × days unless it says otherwise.

    area_m2, feeder_cm, drinker_cm are what the room gives: 0 while out of service. heat_asked counts birds.
    youngest_age, oldest_age are whole days, -1 where the room is empty. resting: empty, and its rest days
    still run. part_area_m2 is parts × days, in the order of `parts`: the bands of the board.
    """

    window: Window
    rooms: tuple[Room, ...]
    groups: tuple[Group, ...]
    parts: tuple[Part, ...]
    birds: Ints
    area_asked_m2: Floats
    area_m2: Floats
    feeder_asked_cm: Floats
    feeder_cm: Floats
    drinker_asked_cm: Floats
    drinker_cm: Floats
    heat_asked: Ints
    groups_together: Ints
    youngest_age: Ints
    oldest_age: Ints
    resting: Bools
    part_area_m2: Floats = field(repr=False)

    @cached_property
    def row(self) -> Mapping[str, int]:
        """Return the row of each room's key."""
        return {room.key: row for row, room in enumerate(self.rooms)}

    def peak(self, room: str) -> tuple[date, float]:
        """Return the first day on which `room` is asked for most floor, and that floor in m²."""
        asked = self.area_asked_m2[self.row[room]]
        column = int(np.argmax(asked))
        return self.window.day(column), float(asked[column])

    def first_over(self, room: str) -> date | None:
        """Return the first day on which `room` is asked for more floor than it gives, None if it never is."""
        row = self.row[room]
        over = self.area_asked_m2[row] - self.area_m2[row] > TOLERANCE
        return self.window.day(int(np.argmax(over))) if over.any() else None


def occupancy(
    window: Window, rooms: Sequence[Room], groups: Sequence[Group], parts: Sequence[Part]
) -> Occupancy:
    """Return the load of every room on every day of `window`.

    Raises ValueError when a key is unknown or used twice, when a part's birds do not fit the window, are
    negative, or stand outside its stay.
    """
    room_row, group_row = _rows(rooms, "room"), _rows(groups, "group")
    entries = _entries(window, groups, parts, room_row, group_row)
    cells = (len(rooms), window.days)

    def total(values: npt.NDArray[Any]) -> Floats:
        # In the order of the parts, one after the other: a plain loop's sums, to the last bit.
        sums = np.bincount(entries.cell, values, cells[0] * cells[1])
        return np.asarray(sums, dtype=np.float64).reshape(cells)

    asked = {measure: entries.birds * each for measure, each in _asked_each(groups, entries)}
    bands = np.zeros((len(parts), window.days))
    bands[entries.part, entries.day] = asked["area_m2"]
    birds = total(entries.birds).astype(np.int64)
    youngest, oldest = np.full(cells, np.iinfo(np.int64).max), np.full(cells, np.iinfo(np.int64).min)
    np.minimum.at(youngest.reshape(-1), entries.cell, entries.age)
    np.maximum.at(oldest.reshape(-1), entries.cell, entries.age)
    return Occupancy(
        window=window,
        rooms=tuple(rooms),
        groups=tuple(groups),
        parts=tuple(parts),
        birds=birds,
        area_asked_m2=total(asked["area_m2"]),
        feeder_asked_cm=total(asked["feeder_cm"]),
        drinker_asked_cm=total(asked["drinker_cm"]),
        heat_asked=total(asked["heat"]).astype(np.int64),
        **_given(window, rooms),
        groups_together=_together(entries, len(groups), cells),
        youngest_age=np.where(birds > 0, youngest, -1),
        oldest_age=np.where(birds > 0, oldest, -1),
        resting=_resting(window, rooms, parts, room_row, birds > 0),
        part_area_m2=bands,
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Entries:
    """The days on which a part holds birds, all parts after one another; `cell` is room × days flattened."""

    part: Rows
    day: Rows
    birds: Ints
    group: Rows
    cell: Rows
    age: Ints


def _entries(
    window: Window,
    groups: Sequence[Group],
    parts: Sequence[Part],
    room_row: Mapping[str, int],
    group_row: Mapping[str, int],
) -> _Entries:
    for part in parts:
        if part.room not in room_row or part.group not in group_row:
            raise ValueError(f"stay {part.stay}: unknown room {part.room!r} or group {part.group!r}")
        if part.birds.shape != (window.days,):
            raise ValueError(f"stay {part.stay}: birds of shape {part.birds.shape} for {window.days} days")
    # Half as wide as the counts come: this is the one large table, and filling fresh memory is what costs.
    birds = np.array([part.birds for part in parts], dtype=np.int32).reshape(len(parts), window.days)
    at = np.flatnonzero(birds != 0)
    of_part, day = np.divmod(at, window.days)
    held = birds.reshape(-1)[at].astype(np.int64)
    today = day + window.start.toordinal()
    first = np.array([part.start.toordinal() for part in parts], dtype=np.intp)
    stop = np.array([(part.end or window.end).toordinal() for part in parts], dtype=np.intp)
    wrong = (held < 0) | (today < first[of_part]) | (today >= stop[of_part])
    if wrong.any():
        raise ValueError(f"stay {parts[of_part[wrong.argmax()]].stay}: birds below zero or outside its days")
    group = np.array([group_row[part.group] for part in parts], dtype=np.intp)[of_part]
    room = np.array([room_row[part.room] for part in parts], dtype=np.intp)[of_part]
    hatch = np.array([group.hatch_day.toordinal() for group in groups], dtype=np.int64)
    return _Entries(of_part, day, held, group, room * window.days + day, today - hatch[group])


def _rows(things: Sequence[Any], what: str) -> dict[str, int]:
    rows = {thing.key: row for row, thing in enumerate(things)}
    if len(rows) != len(things):
        raise ValueError(f"every {what} needs a key of its own")
    return rows


def _asked_each(groups: Sequence[Group], entries: _Entries) -> Iterator[tuple[str, Floats]]:
    """Yield what one bird of each entry asks for: nothing before hatch, the last value beyond the array."""
    sizes = np.array([len(group.needs.area_m2) for group in groups], dtype=np.int64)
    offsets = np.cumsum(sizes) - sizes
    at = offsets[entries.group] + np.minimum(np.maximum(entries.age, 0), sizes[entries.group] - 1)
    hatched = entries.age >= 0
    for measure in ("area_m2", "feeder_cm", "drinker_cm", "heat"):
        # All groups' arrays after one another; the empty one stands in for a farm without batches.
        table = np.concatenate([np.zeros(0), *(getattr(group.needs, measure) for group in groups)])
        if len(table) != sizes.sum():
            raise ValueError(f"the needs of a group have more or fewer days of {measure} than of area_m2")
        yield measure, table[at] * hatched


def _together(entries: _Entries, groups: int, cells: tuple[int, int]) -> Ints:
    """Return how many groups share each cell; a group split over two stays in one room counts once."""
    present = np.zeros(cells[0] * cells[1] * groups, dtype=np.bool_)
    present[entries.cell * groups + entries.group] = True
    found = np.flatnonzero(present) // max(groups, 1)
    return np.bincount(found, minlength=cells[0] * cells[1]).astype(np.int64).reshape(cells)


def _given(window: Window, rooms: Sequence[Room]) -> dict[str, Floats]:
    """Return what each room gives on each day it is in service."""
    open_days = np.zeros((len(rooms), window.days))
    for row, room in enumerate(rooms):
        columns = window.clip(room.in_service_from, room.in_service_to)
        if columns is not None:
            open_days[row, columns] = 1.0
    return {
        name: open_days * np.array([getattr(room, name) for room in rooms], dtype=np.float64)[:, None]
        for name in ("area_m2", "feeder_cm", "drinker_cm")
    }


def _resting(
    window: Window, rooms: Sequence[Room], parts: Sequence[Part], room_row: Mapping[str, int], housed: Bools
) -> Bools:
    """Return the empty days within a room's rest days of the last leaving, before the window too."""
    never = -(10**6)
    before = np.full(len(rooms), never)
    for part in parts:
        if part.end is not None and part.end <= window.start:
            row = room_row[part.room]
            before[row] = max(before[row], window.index(part.end) - 1)
    day = np.arange(window.days)
    last = np.maximum.accumulate(np.where(housed, day, before[:, None]), axis=1)
    rest = np.array([room.rest_days for room in rooms], dtype=np.int64)
    return ~housed & (day - last <= rest[:, None])
