"""The invented demo family: who is there when, what they can and like to do, their own chores. All of it made up.

Marta is at home, Jonas works on weekdays, Lina is seventeen, Emil is ten and helps beside an adult.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from farm.models.member import round_code

_WORKDAYS, _WEEKEND = range(5), (5, 6)


def _rounds(workdays: tuple[str, ...], weekend: tuple[str, ...]) -> list[int]:
    return [round_code(day, name) for day in _WORKDAYS for name in workdays] + [
        round_code(day, name) for day in _WEEKEND for name in weekend
    ]


_ALL = ("morning", "midday", "evening")
_ABLE = {"can_heat": True, "can_lift": True, "can_water": True, "can_dose": True, "can_slaughter": True}

#: The keeper who signs in, then the others: name, role, the rest of their record.
KEEPER_FIELDS: dict[str, Any] = {
    "adult": True,
    **_ABLE,
    "rounds": _rounds(_ALL, ("morning", "evening")),
    "max_week_minutes": 840,
    "share": 100,
    "prefers": ["look"],
}
MEMBERS: tuple[tuple[str, str, dict[str, Any]], ...] = (
    (
        "Jonas",
        "keeper",
        {
            "adult": True,
            **_ABLE,
            "rounds": _rounds(("morning", "evening"), _ALL),
            "share": 100,
            "prefers": ["bedding"],
        },
    ),
    (
        "Lina",
        "helper",
        {
            "can_lift": True,
            "can_water": True,
            "rounds": _rounds(("evening",), _ALL),
            "max_week_minutes": 240,
            "share": 50,
            "refuses": ["vent_check"],
        },
    ),
    (
        "Emil",
        "child",
        {"can_water": True, "rounds": _rounds(("evening",), ("morning", "evening")), "share": 15},
    ),
)
#: Days away, by name: first and first-back day, counted from planting.
AWAY = (("Lina", 12, 15, "school trip"),)


@dataclass(frozen=True, slots=True)
class DemoChore:
    """A chore of the demo's own, from a day counted from planting; housing by name."""

    title: str
    start: int
    repeat: str
    fields: dict[str, Any] = field(default_factory=dict)
    housing: str | None = None


OWN_CHORES = (
    DemoChore(
        "Walk the fence",
        -20,
        "FREQ=WEEKLY;BYDAY=SA",
        {
            "round": "morning",
            "minutes": 25,
            "who": "helper",
            "place": "Fields",
            "checklist": ["Look for holes and digging", "Test that the wire is live, by the tester alone"],
            "asks": "note",
        },
    ),
    DemoChore(
        "Move the shade roof on",
        -9,
        "FREQ=DAILY;INTERVAL=4",
        {"round": "evening", "minutes": 15, "who": "helper", "needs": ["lifting"], "two_people": True},
        housing="Stream paddock",
    ),
    DemoChore(
        "Picture of the litter for the notebook",
        -12,
        "FREQ=MONTHLY;BYDAY=1SU",
        {"round": "evening", "minutes": 5, "who": "child", "asks": "photo"},
        housing="Pen 2",
    ),
    DemoChore(
        "Fetch straw from the neighbour", 3, "", {"round": "midday", "minutes": 60, "needs": ["lifting"]}
    ),
)
