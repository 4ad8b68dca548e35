"""What the tables of a programme are called, and in which units they are read and typed."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from django.utils.formats import number_format
from django.utils.translation import gettext as _

from farm import units
from farm.phrase import N_, Quantity
from farm.trade.programme import CURVES, PROTEIN_G_PER_KG, RULES
from farm.wording import quantity


@dataclass(frozen=True, slots=True)
class Measure:
    """What a number of a programme means.

    unit: SI unit of `phrase.Quantity`, or "" for plain numbers. per: said after the unit. times: a plain number is
    shown multiplied by this (a share as percent). low, high: what is accepted, as stored.
    """

    label: str
    low: float
    high: float
    unit: str = ""
    per: str = ""
    times: float = 1
    digits: int = 1

    def shown(self, value: float, system: str) -> str:
        """Return a stored value in the farm's units with its unit."""
        if self.unit:
            text = quantity(Quantity(value, self.unit, self.digits), system)
            return f"{text} {_(self.per)}" if self.per else text
        text = number_format(f"{round(value * self.times, 6):g}")
        return f"{text} {_(self.per)}" if self.per else text

    def unit_label(self, system: str) -> str:
        """Return the unit a value is typed in."""
        parts = [units.label(self.unit, system) if self.unit else "", _(self.per) if self.per else ""]
        return " ".join(part for part in parts if part)

    def typed(self, value: float, system: str) -> str:
        """Return a stored value as a form shows it: no unit, a point before the decimals."""
        shown = units.shown(Quantity(value, self.unit), system)[0] if self.unit else value * self.times
        return f"{round(shown, 6):.6f}".rstrip("0").rstrip(".")

    def stored(self, value: float, system: str) -> float:
        """Return in storage what was typed in the farm's units."""
        kept = units.stored(value, self.unit, system) if self.unit else value / self.times
        return round(kept, 9)


_SI = {"°C": "degC", "m²": "m2", "cm": "cm", "g": "g", "kg": "kg", "L": "l"}
_CURVE_WORDS: Mapping[str, tuple[str, str, int]] = {
    "temp_c": (N_("Temperature at the birds' back height"), "", 1),
    "area_m2": (N_("Floor area"), N_("a bird"), 3),
    "feeder_cm": (N_("Feeder edge"), N_("a bird"), 1),
    "drinker_cm": (N_("Drinker edge"), N_("a bird"), 1),
    "weight_female_g": (N_("Weight, female"), "", 0),
    "weight_male_g": (N_("Weight, male"), "", 0),
    "feed_eaten_female_kg": (N_("Feed eaten since hatch, female"), "", 2),
    "feed_eaten_male_kg": (N_("Feed eaten since hatch, male"), "", 2),
    "water_per_100_l": (N_("Water a day"), N_("for 100 birds"), 1),
    "lost_share": (N_("Lost since hatch"), "%", 1),
    "night_min_c": (N_("Coldest night they can bear"), "", 0),
    "bedding_every_days": (N_("Bedding topped up every"), N_("days"), 1),
}
_RULE_WORDS: Mapping[str, tuple[str, str, str]] = {
    "hatch_g": (N_("Weight at hatch"), "g", ""),
    "incubation_days": (N_("Incubation"), "", N_("days")),
    "heat_off_earliest_day": (N_("Heat may go off from"), "", N_("days of age")),
    "heat_off_latest_day": (N_("Heat needed until"), "", N_("days of age")),
    "feathered_day": (N_("Fully feathered at"), "", N_("days of age")),
    "day_out_day": (N_("Out by day from"), "", N_("days of age")),
    "warm_day_out_day": (N_("Out on warm days from"), "", N_("days of age")),
    "acclimatise_days": (N_("Getting used to the cold takes"), "", N_("days")),
    "grown_feed_g": (N_("Feed when grown"), "g", N_("a day")),
    "cloth_off_day": (N_("Cloth off the bedding at"), "", N_("days of age")),
    "litter_depth_cm": (N_("Bedding depth"), "cm", ""),
    "order_extra_share": (N_("Ordered on top for losses"), "", "%"),
    "isolation_days": (N_("Kept apart after buying in"), "", N_("days")),
    "perch_cm": (N_("Perch"), "cm", N_("a bird")),
    "hens_per_nest": (N_("Hens to a nest"), "", N_("hens")),
    "nest_open_day": (N_("Nests opened at"), "", N_("days of age")),
    "run_m2": (N_("Run"), "m2", N_("a bird")),
    "shut_in_m2": (N_("Floor while shut in"), "m2", N_("a bird")),
}

CURVE_MEASURES: Mapping[str, Measure] = {
    name: Measure(
        label=_CURVE_WORDS[name][0],
        low=low,
        high=high,
        unit=_SI.get(unit, ""),
        per=_CURVE_WORDS[name][1],
        times=100 if unit == "share" else 1,
        digits=_CURVE_WORDS[name][2],
    )
    for name, (unit, _law, low, high) in CURVES.items()
}
RULE_MEASURES: Mapping[str, Measure] = {
    name: Measure(
        label=_RULE_WORDS[name][0],
        low=low,
        high=high,
        unit=_RULE_WORDS[name][1],
        per=_RULE_WORDS[name][2],
        times=100 if unit == "share" else 1,
        digits=2 if "m²" in unit else 0,
    )
    for name, (unit, low, high) in RULES.items()
}
PROTEIN = Measure(N_("Protein"), *PROTEIN_G_PER_KG, per="%", times=0.1)


def age(day: int) -> str:
    """Return a day of age in weeks and days, "2 w 3 d"; "" in the first week."""
    weeks, rest = divmod(day, 7)
    if not weeks:
        return ""
    if not rest:
        return _("%(weeks)d w") % {"weeks": weeks}
    return _("%(weeks)d w %(days)d d") % {"weeks": weeks, "days": rest}
