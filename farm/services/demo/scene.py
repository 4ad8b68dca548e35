"""What the invented demo farm looks like. Every name and number here is made up; days count from the planting day.

The one clash ahead is on purpose: 60 dual-purpose chicks outgrow Brooder 3 three weeks before their pen is free.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

FARM: dict[str, Any] = {
    "name": "Alder Hollow",
    "time_zone": "Europe/Berlin",
    "latitude": 50.9,
    "longitude": 10.3,
}
KEEPER = "Marta"


@dataclass(frozen=True, slots=True)
class Place:
    """A housing by name, with its model fields."""

    name: str
    fields: dict[str, Any]


def _place(name: str, kind: str, area_m2: float, feeder_cm: float, drinker_cm: float, **fields: Any) -> Place:
    return Place(
        name,
        {"kind": kind, "area_m2": area_m2, "feeder_cm": feeder_cm, "drinker_cm": drinker_cm} | fields,
    )


_OUTSIDE: dict[str, Any] = {"indoor": False, "rest_days": 28, "max_age_gap_days": 28}

HOUSING = (
    _place("Brooder 1", "brooder", 4.0, 240, 90, heated=True, whereabouts="Brooder house"),
    _place("Brooder 2", "brooder", 3.6, 260, 100, heated=True, whereabouts="Brooder house"),
    _place("Brooder 3", "brooder", 3.0, 320, 120, heated=True, whereabouts="Brooder house"),
    _place("Pen 1", "pen", 5.0, 150, 90, heated=True, whereabouts="Barn"),
    _place("Pen 2", "pen", 8.0, 400, 140, max_age_gap_days=14, whereabouts="Barn"),
    _place("Pen 3", "pen", 9.0, 480, 160, max_age_gap_days=14, whereabouts="Barn"),
    _place("Pen 4", "pen", 10.0, 480, 160, max_age_gap_days=14, light="open", whereabouts="Barn"),
    _place(
        "Coop",
        "coop",
        12.0,
        500,
        140,
        max_age_gap_days=60,
        species=["chicken"],
        light="open",
        whereabouts="Yard",
    ),
    _place("Top paddock", "paddock", 200.0, 0, 0, species=["chicken"], **_OUTSIDE, whereabouts="Fields"),
    _place(
        "Stream paddock",
        "paddock",
        350.0,
        0,
        0,
        species=["turkey", "duck", "goose"],
        **_OUTSIDE,
        whereabouts="Fields",
    ),
)


@dataclass(frozen=True, slots=True)
class DemoBatch:
    """A batch of the demo: its stays as (housing, from, until), its losses as (day, birds, kind, note)."""

    name: str
    programme: str
    breed: str
    birds: int
    hatched: int
    arrives: int
    leaves: int | None
    stays: tuple[tuple[str, int, int | None], ...]
    losses: tuple[tuple[int, int, str, str], ...] = ()
    seen: tuple[dict[str, Any], ...] = ()
    fields: dict[str, Any] = field(default_factory=dict)


BATCHES = (
    DemoBatch(
        "Early browns",
        "chicken_layer_brown",
        "brown layer cross",
        45,
        hatched=-67,
        arrives=-66,
        leaves=None,
        stays=(("Brooder 1", -66, -24), ("Pen 4", -24, 46), ("Coop", 46, None)),
        losses=(
            (-65, 1, "died", "weak on arrival"),
            (-61, 1, "died", ""),
            (-30, 1, "culled", "leg trouble"),
        ),
        seen=({"day": -18, "kind": "weight", "value": 560.0, "birds": 10},),
        fields={"sex": "sexed_female"},
    ),
    DemoBatch(
        "Table birds",
        "chicken_meat",
        "slow meat cross",
        48,
        hatched=-45,
        arrives=-44,
        leaves=18,
        stays=(("Brooder 2", -44, -16), ("Pen 2", -16, 18)),
        losses=((-42, 2, "died", ""), (-9, 1, "died", "found in the morning")),
        seen=({"day": -10, "kind": "weight", "value": 1650.0, "birds": 10},),
    ),
    DemoBatch(
        "Pond ducks",
        "duck",
        "Pekin",
        20,
        hatched=-30,
        arrives=-30,
        leaves=19,
        stays=(("Brooder 3", -30, -2), ("Pen 3", -2, 19)),
        losses=((-28, 1, "died", ""),),
        fields={"source": "own_hatch"},
    ),
    DemoBatch(
        "Bronze poults",
        "turkey_large",
        "bronze",
        16,
        hatched=-20,
        arrives=-19,
        leaves=None,
        stays=(("Pen 1", -19, 23), ("Stream paddock", 23, None)),
        losses=((-17, 1, "died", "did not find the water"),),
        seen=({"day": -3, "kind": "temperature", "value": 28.5, "housing": "Pen 1"},),
    ),
    DemoBatch(
        "White layers",
        "chicken_layer_white",
        "white layer cross",
        40,
        hatched=-9,
        arrives=-8,
        leaves=None,
        stays=(("Brooder 1", -8, 34), ("Top paddock", 34, None)),
        losses=((-7, 1, "died", ""), (-5, 1, "died", "")),
        seen=(
            {"day": -6, "kind": "behaviour", "word": "huddled", "housing": "Brooder 1"},
            {"day": -6, "kind": "temperature", "value": 31.0, "housing": "Brooder 1"},
            {"day": -1, "kind": "behaviour", "word": "even", "housing": "Brooder 1"},
        ),
        fields={"sex": "sexed_female"},
    ),
    DemoBatch(
        "House quail",
        "quail_layer",
        "Japanese quail",
        60,
        hatched=-2,
        arrives=-2,
        leaves=None,
        stays=(("Brooder 2", -2, 33), ("Pen 2", 33, None)),
        losses=((-1, 2, "died", "drowned before the stones went in"),),
        fields={"source": "own_hatch"},
    ),
    DemoBatch(
        "Summer duals",
        "chicken_dual",
        "dual-purpose reds",
        60,
        hatched=13,
        arrives=14,
        leaves=None,
        stays=(("Brooder 3", 14, 56), ("Pen 3", 56, 98), ("Top paddock", 98, None)),
    ),
    DemoBatch(
        "Late ducks",
        "duck",
        "Pekin",
        12,
        hatched=47,
        arrives=48,
        leaves=97,
        stays=(("Brooder 2", 48, 76), ("Pen 1", 76, 97)),
    ),
)
