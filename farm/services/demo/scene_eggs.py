"""The invented demo farm's machines, egg sets and intakes. Every name and number is made up; days count from planting.

Six egg sets, each in another state: hatched, hatching today, in the hatcher, candled, just set, planned.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

MACHINES: tuple[dict[str, Any], ...] = (
    {
        "name": "Cabinet",
        "does": "setter",
        "small_eggs": 400,
        "medium_eggs": 160,
        "large_eggs": 110,
        "whereabouts": "House",
    },
    {
        "name": "Hatcher",
        "does": "hatcher",
        "small_eggs": 200,
        "medium_eggs": 80,
        "large_eggs": 50,
        "whereabouts": "House",
    },
)
#: Where the hatches go, beside the housing of `scene`.
HOUSING: tuple[dict[str, Any], ...] = (
    {"name": "Brooder 4", "whereabouts": "Brooder house", "area_m2": 4.0, "feeder_cm": 180, "drinker_cm": 70},
    {"name": "Brooder 5", "whereabouts": "Brooder house", "area_m2": 4.0, "feeder_cm": 180, "drinker_cm": 70},
    {
        "name": "Quail brooder",
        "whereabouts": "Brooder house",
        "area_m2": 1.5,
        "feeder_cm": 160,
        "drinker_cm": 30,
    },
    {
        "name": "Sale brooder",
        "whereabouts": "Brooder house",
        "area_m2": 2.5,
        "feeder_cm": 220,
        "drinker_cm": 80,
        "rest_days": 3,
    },
)


@dataclass(frozen=True, slots=True)
class DemoEggs:
    """An egg set: set on a day from planting, its chicks brooded in a housing until they leave at an age.

    candled: (days after setting, what was found). hatched: how many, and what was found besides; None for not yet.
    """

    programme: str
    breed: str
    eggs: int
    set_on: int
    housing: str
    leaves_age: int
    stored_days: int = 4
    candled: tuple[tuple[int, dict[str, int]], ...] = ()
    hatched: tuple[int, dict[str, int]] | None = None


EGG_SETS = (
    DemoEggs(
        "chicken_dual", "dual-purpose reds", 40, -33, "Brooder 4", 42,
        candled=((7, {"clear": 5, "early_dead": 2}),),
        hatched=(28, {"pipped": 2, "quitters": 3}),
    ),
    DemoEggs(
        "chicken_layer_brown", "brown layer cross", 36, -21, "Brooder 5", 35,
        candled=((7, {"clear": 4, "early_dead": 1}), (18, {"quitter": 1})),
    ),
    DemoEggs(
        "quail_layer", "Japanese quail", 60, -15, "Quail brooder", 35,
        candled=((7, {"clear": 9, "broken": 1}),),
    ),
    DemoEggs(
        "chicken_dual", "dual-purpose reds", 40, -9, "Sale brooder", 4,
        candled=((7, {"clear": 6, "early_dead": 1}),),
    ),
    DemoEggs("chicken_dual", "dual-purpose reds", 24, -1, "Sale brooder", 4),
    DemoEggs("chicken_dual", "dual-purpose reds", 60, 6, "Sale brooder", 4, stored_days=7),
)  # fmt: skip

SUPPLIER: dict[str, Any] = {
    "name": "Far Meadow Chicks (invented)",
    "types": ["chicken_layer_brown", "chicken_layer_white", "chicken_meat"],
    "weekdays": [1, 3],
    "minimum": 20,
    "lead_days": 14,
    "sexed": True,
}


@dataclass(frozen=True, slots=True)
class DemoIntake:
    """Chicks expected from the supplier: on the first of its days at or after `due_on` from planting."""

    name: str
    programme: str
    ordered: int
    extras: int
    due_on: int
    housing: str
    leaves_after: int
    fields: dict[str, Any] = field(default_factory=dict)


INTAKE = DemoIntake(
    "Autumn browns", "chicken_layer_brown", 30, 2, 50, "Brooder 1", 42, {"sex": "sexed_female"}
)
