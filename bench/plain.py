"""Occupancy in plain Python, room by room and day by day: what the arrays must equal and must beat."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from farm.planning.premises import Group, Part, Room
from farm.planning.window import Window

MEASURES = {
    "area_asked_m2": "area_m2",
    "feeder_asked_cm": "feeder_cm",
    "drinker_asked_cm": "drinker_cm",
    "heat_asked": "heat",
}


def plain_occupancy(
    window: Window, rooms: Sequence[Room], groups: Sequence[Group], parts: Sequence[Part]
) -> dict[str, list[list[Any]]]:
    """Return the tables of `occupancy` by the names of its arrays, as lists of lists.

    It is the loop one would write by hand, and reads plain lists: no array is touched inside it.
    """
    batches = {group.key: _Batch(group) for group in groups}
    counts = {part.stay: part.birds.tolist() for part in parts}
    tables: dict[str, list[list[Any]]] = {}
    for room in rooms:
        inside = [(batches[part.group], counts[part.stay]) for part in parts if part.room == room.key]
        ends = [part.end for part in parts if part.room == room.key and part.end and part.end <= window.start]
        free_from = max(ends) if ends else None
        rows = []
        for column, day in enumerate(window.dates()):
            here = [(batch, birds[column]) for batch, birds in inside if birds[column]]
            if here:
                free_from = window.day(column + 1)
            rows.append(_room_day(room, day, here, free_from))
        for name in rows[0]:
            tables.setdefault(name, []).append([row[name] for row in rows])
    tables["part_area_m2"] = [_band(window, batches[part.group], counts[part.stay]) for part in parts]
    return tables


class _Batch:
    """A group with its needs as plain lists."""

    def __init__(self, group: Group) -> None:
        self.key = group.key
        self.hatch_day = group.hatch_day
        self.needs = {measure: getattr(group.needs, measure).tolist() for measure in MEASURES.values()}

    def age(self, day: date) -> int:
        return (day - self.hatch_day).days

    def asks(self, measure: str, day: date) -> float:
        age = self.age(day)
        values = self.needs[measure]
        return 0.0 if age < 0 else values[min(age, len(values) - 1)]


def _room_day(
    room: Room, day: date, here: Sequence[tuple[_Batch, int]], free_from: date | None
) -> dict[str, Any]:
    row: dict[str, Any] = {"birds": 0}
    for _, birds in here:
        row["birds"] += birds
    for name, measure in MEASURES.items():
        row[name] = 0.0
        for batch, birds in here:
            row[name] += birds * batch.asks(measure, day)
    open_today = (room.in_service_from is None or room.in_service_from <= day) and (
        room.in_service_to is None or day < room.in_service_to
    )
    for measure in ("area_m2", "feeder_cm", "drinker_cm"):
        row[measure] = getattr(room, measure) if open_today else 0.0
    ages = {batch.key: batch.age(day) for batch, _ in here}
    row["groups_together"] = len(ages)
    row["youngest_age"] = min(ages.values(), default=-1)
    row["oldest_age"] = max(ages.values(), default=-1)
    row["resting"] = not here and free_from is not None and (day - free_from).days < room.rest_days
    return row


def _band(window: Window, batch: _Batch, counts: Sequence[int]) -> list[float]:
    return [
        birds * batch.asks("area_m2", day) if birds else 0.0
        for day, birds in zip(window.dates(), counts, strict=True)
    ]
