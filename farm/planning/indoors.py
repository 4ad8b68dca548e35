"""Who is in one room on which day: the judges' own reading of the parts, apart from `occupancy`'s sums."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from farm.planning.occupancy import Occupancy
from farm.planning.premises import Bools, Floats, Group, Ints, Part, Room
from farm.planning.window import Window


def asked_by_day(group: Group, window: Window, measure: str) -> Floats:
    """Return what one bird of `group` asks for on each day, 0 before hatch; measure: a name of `Needs`."""
    values = np.asarray(getattr(group.needs, measure), dtype=np.float64)
    age = ages(group, window)
    return np.where(age < 0, 0.0, values[np.clip(age, 0, len(values) - 1)])


def ages(group: Group, window: Window) -> Ints:
    """Return the days since hatch on each day of `window`, negative before it."""
    return np.arange(window.days, dtype=np.int64) + (window.start - group.hatch_day).days


@dataclass(frozen=True, slots=True, eq=False)
class Indoors:
    """One room, and the birds of each group in it by day, keyed by group in key order."""

    window: Window
    room: Room
    groups: Mapping[str, Group]
    parts: tuple[Part, ...]
    birds: Mapping[str, Ints]
    in_service: Bools

    def present(self, column: int) -> dict[str, int]:
        """Return the birds of each group that is in the room on that day."""
        return {key: int(birds[column]) for key, birds in self.birds.items() if birds[column]}

    def asked(self, measure: str) -> Floats:
        """Return the sum all birds in the room ask for on each day."""
        total = np.zeros(self.window.days)
        for key, birds in self.birds.items():
            total += birds * asked_by_day(self.groups[key], self.window, measure)
        return total


def rooms(load: Occupancy) -> list[Indoors]:
    """Return every room that has a stay, in the order of the rooms."""
    groups = {group.key: group for group in load.groups}
    found = []
    for room in load.rooms:
        parts = tuple(part for part in load.parts if part.room == room.key)
        if parts:
            found.append(_indoors(load.window, room, groups, parts))
    return found


def _indoors(window: Window, room: Room, groups: Mapping[str, Group], parts: tuple[Part, ...]) -> Indoors:
    birds = {
        key: sum((part.birds for part in parts if part.group == key), np.zeros(window.days, dtype=np.int64))
        for key in sorted({part.group for part in parts})
    }
    in_service = np.zeros(window.days, dtype=np.bool_)
    columns = window.clip(room.in_service_from, room.in_service_to)
    if columns is not None:
        in_service[columns] = True
    return Indoors(window, room, groups, parts, birds, in_service)
