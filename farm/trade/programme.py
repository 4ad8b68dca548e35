"""The rearing programme: the age-keyed recipe a batch follows, every number with its source.

A programme is data. It says nothing about a day that is not one of its knots; `farm.husbandry` turns knots
into curves. Age is whole days since hatch (hatch day = day 0). Values are SI.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

NO_SOURCE = "common practice, no source"
JUDGEMENT = "project default (judgement)"
#: What a keeper's own edited number carries. The built-in tables never do.
OWN = "this farm's own figure"

SPECIES = ("chicken", "turkey", "duck", "muscovy", "goose", "quail", "guinea", "pheasant")

#: curve name -> (unit, law, lowest, highest). Law "step": the value holds from its day on until the next
#: knot. Law "smooth": monotone interpolation between knots. Law "linear": straight lines between knots.
#: Values outside the bounds are refused as slips of the hand.
CURVES: Mapping[str, tuple[str, str, float, float]] = {
    "temp_c": ("°C", "smooth", 15, 45),
    "area_m2": ("m²", "step", 0.005, 20),
    "feeder_cm": ("cm", "step", 0.2, 40),
    "drinker_cm": ("cm", "step", 0.1, 30),
    "weight_female_g": ("g", "smooth", 3, 25_000),
    "weight_male_g": ("g", "smooth", 3, 25_000),
    "feed_eaten_female_kg": ("kg", "smooth", 0, 500),
    "feed_eaten_male_kg": ("kg", "smooth", 0, 500),
    "water_per_100_l": ("L", "smooth", 0.3, 250),
    "lost_share": ("share", "linear", 0, 0.6),
    "night_min_c": ("°C", "step", -30, 38),
    "bedding_every_days": ("days", "step", 0.5, 60),
}
#: Curves a programme must have; the others have a stated fallback in `farm.husbandry`.
REQUIRED_CURVES = frozenset(CURVES) - {"water_per_100_l"}
#: Curves that can only rise with age: a bird neither shrinks nor gives its feed back.
RISING_CURVES = frozenset(
    {"weight_female_g", "weight_male_g", "feed_eaten_female_kg", "feed_eaten_male_kg", "lost_share"}
)

#: rule name -> (unit, lowest, highest): single numbers of a programme.
RULES: Mapping[str, tuple[str, float, float]] = {
    "hatch_g": ("g", 4, 160),
    "incubation_days": ("days", 14, 40),
    "heat_off_earliest_day": ("day of age", 0, 84),
    "heat_off_latest_day": ("day of age", 0, 84),
    "feathered_day": ("day of age", 0, 120),
    "day_out_day": ("day of age", 0, 120),
    "warm_day_out_day": ("day of age", 0, 120),
    "acclimatise_days": ("days", 0, 21),
    "grown_feed_g": ("g a day", 1, 800),
    "cloth_off_day": ("day of age", 0, 84),
    "litter_depth_cm": ("cm", 0, 30),
    "order_extra_share": ("share", 0, 0.5),
    "isolation_days": ("days", 0, 90),
    "perch_cm": ("cm a bird", 5, 60),
    "hens_per_nest": ("hens", 1, 15),
    "nest_open_day": ("day of age", 0, 300),
    "run_m2": ("m² a bird", 0.005, 20),
    "shut_in_m2": ("m² a bird", 0.005, 20),
}
#: Rules a programme may leave out: not every bird perches, lays in nests or has a run.
OPTIONAL_RULES = frozenset({"perch_cm", "hens_per_nest", "nest_open_day", "run_m2", "shut_in_m2"})
#: Protein of a feed, g/kg as fed: lowest and highest accepted.
PROTEIN_G_PER_KG = (80, 350)


@dataclass(frozen=True, slots=True)
class Knot:
    """One row of an age-keyed table: the value from (or at) a day of age, and who says so."""

    day: int
    value: float
    source: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A single sourced number."""

    value: float
    source: str


@dataclass(frozen=True, slots=True)
class FeedPhase:
    """A feed eaten from `day` of age until the next phase; protein in g/kg as fed."""

    day: int
    feed: str
    protein_g_per_kg: float
    source: str


@dataclass(frozen=True, slots=True)
class Programme:
    """The recipe of one species and type.

    key: stable name, for example `chicken_layer_brown`. species: `chicken`, `turkey`, `duck`, `muscovy`,
    `goose`, `quail`, `guinea`, `pheasant`. curves: by names of CURVES. rules: by names of RULES. feeds: by
    rising day. jobs: keys of the chore table that apply.
    """

    key: str
    name: str
    species: str
    type: str
    curves: Mapping[str, tuple[Knot, ...]]
    rules: Mapping[str, Rule]
    feeds: tuple[FeedPhase, ...]
    jobs: tuple[str, ...] = field(default=())
