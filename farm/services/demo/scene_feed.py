"""The invented demo farm's feed. Every name, weight and price is made up; days count from planting.

Duck grower is to be ordered at once, chick starter soon; nobody thought of what turkeys and quail eat next.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class DemoFeed:
    """A feed: bought as (day, bags, price in cents, days since milling or None), opened on days."""

    name: str
    fields: dict[str, Any]
    bought: tuple[tuple[int, int, int | None, int | None], ...]
    opened: tuple[int, ...] = ()
    spoiled: tuple[tuple[int, float, str], ...] = ()


#: Days to wait as the invented keeper typed them from an invented label, and whose they are.
WAIT_OF = "Bronze poults"
WAIT: dict[str, Any] = {
    "what": "Turkey starter (invented)",
    "days": 5,
    "product": "meat",
    "note": "the days are invented like the feed: yours are on your label",
}
WAIT_GIVEN = -1


def _feed(kind: str, species: list[str], bag_kg: float, lead_days: int, **fields: Any) -> dict[str, Any]:
    return {"kind": kind, "species": species, "bag_kg": bag_kg, "lead_days": lead_days} | fields


_MILL_DAYS: dict[str, Any] = {"delivery_weekdays": [1, 4]}

FEEDS = (
    DemoFeed(
        "Mill chick starter (invented)",
        _feed("starter", ["chicken"], 25.0, 4, **_MILL_DAYS),
        bought=((-50, 5, 9500, 5), (-12, 2, 3860, 6)),
        opened=(-50, -37, -31, -27, -23, -2),
    ),
    DemoFeed(
        "Mill chick grower (invented)",
        _feed("grower", ["chicken"], 25.0, 4, **_MILL_DAYS),
        bought=((-26, 10, 17500, 7),),
        opened=(-25, -18, -16, -13, -11, -8, -6, -4, -1),
    ),
    DemoFeed(
        "Pullet developer (invented)",
        _feed("developer", ["chicken"], 25.0, 4, **_MILL_DAYS),
        bought=((-3, 6, 10200, 4),),
    ),
    DemoFeed(
        "Meat finisher (invented)",
        _feed("finisher", ["chicken"], 25.0, 4, **_MILL_DAYS),
        bought=((-6, 6, 11400, 9),),
        opened=(-3,),
    ),
    DemoFeed(
        "Duck grower pellets (invented)",
        _feed("grower", ["duck"], 20.0, 7),
        bought=((-16, 6, 9600, None),),
        opened=(-16, -8, -3),
        spoiled=((-2, 6.5, "a torn bag, mice"),),
    ),
    DemoFeed(
        "Turkey starter (invented)",
        _feed(
            "starter",
            ["turkey"],
            20.0,
            7,
            medicated=True,
            notes="Its label is invented too: no days to wait are typed, so the page asks for them.",
        ),
        bought=((-19, 2, 5200, 8),),
        opened=(-19,),
    ),
    DemoFeed(
        "Quail starter (invented)",
        _feed("starter", ["quail"], 10.0, 7),
        bought=((-15, 4, 5200, None),),
        opened=(-2,),
    ),
)
