"""A few birds on the scales: whether their mean is what the table expects, chance and strains allowed for."""

from __future__ import annotations

import math
from dataclasses import dataclass
from statistics import NormalDist

from farm.husbandry.growth import FEMALE, MALE, STRAIGHT_RUN, weight_g
from farm.phrase import N_, Phrase, Quantity, Value
from farm.trade.general import figure
from farm.trade.programme import Programme

USUAL, LIGHT, HEAVY, SLIP = "usual", "light", "heavy", "slip"


@dataclass(frozen=True, slots=True)
class Weighed:
    """A weighing against the table.

    verdict: USUAL, LIGHT, HEAVY, or SLIP where a typing slip is likelier. low_g, high_g: between them lie 9 in 10
    such means of healthy birds. vet: so far off that the vet should be asked.
    """

    verdict: str
    mean_g: float
    expected_g: float
    low_g: float
    high_g: float
    words: Phrase
    vet: bool


def weighed(programme: Programme, age_days: int, sex: str, mean_g: float, birds: int) -> Weighed:
    """Return what the mean weight of so many birds says. Raises ValueError for no birds or no weight."""
    if birds < 1 or not 0 < mean_g < math.inf:
        raise ValueError("needs at least one bird and a weight above 0")
    expected = float(weight_g(programme, age_days, sex))
    spread = mean_spread_g(programme, age_days, sex, birds)
    low, high = _band(expected, spread, figure("weighing", "usual_probability"))
    far_low = _band(expected, spread, figure("weighing", "far_probability"))[0]
    slip = not figure("weighing", "slip_below") <= mean_g / expected <= figure("weighing", "slip_above")
    verdict = SLIP if slip else LIGHT if mean_g < low else HEAVY if mean_g > high else USUAL
    vet = mean_g < far_low
    values: dict[str, Value] = {
        "mean": _weight(mean_g),
        "expected": _weight(expected),
        "low": _weight(low),
        "high": _weight(high),
    }
    text = _TEXTS[verdict, vet] if (verdict, vet) in _TEXTS else _TEXTS[verdict, False]
    return Weighed(verdict, mean_g, expected, low, high, Phrase(text, values), vet)


def mean_spread_g(programme: Programme, age_days: int, sex: str, birds: int) -> float:
    """Return the spread in g of the mean of so many birds about the table: of birds, of sexes, of strains and feeds.

    More birds weighed narrow the first two; the last is there however many are weighed, and wide in the first weeks:
    chicks still live on their yolk, and the tables are thin there.
    """
    expected = float(weight_g(programme, age_days, sex))
    one = (figure("weighing", "bird_spread") * expected) ** 2
    if sex == STRAIGHT_RUN:
        apart = float(weight_g(programme, age_days, MALE) - weight_g(programme, age_days, FEMALE))
        one += (apart / 2) ** 2
    early = age_days < figure("weighing", "early_until_day")
    strain = figure("weighing", "early_strain_spread" if early else "strain_spread")
    return math.sqrt(one / birds + (strain * expected) ** 2)


_TEXTS = {
    (USUAL, False): N_("%(mean)s: as expected at this age (%(low)s to %(high)s)."),
    (LIGHT, False): N_(
        "%(mean)s: light for this age, %(low)s to %(high)s is usual. Is there room at the feeder for all,"
        " the right feed, water, warmth? Weigh again in a week."
    ),
    (LIGHT, True): N_(
        "%(mean)s: far too light for this age, %(low)s to %(high)s is usual. Look at feed, water and warmth today,"
        " and ask your vet."
    ),
    (HEAVY, False): N_(
        "%(mean)s: heavy for this age, %(low)s to %(high)s is usual. Fast growth strains legs and heart;"
        " is the kind of bird on the batch the right one?"
    ),
    (SLIP, False): N_(
        "%(mean)s is far from the %(expected)s of this age: is it the weight of one bird, and the unit right?"
    ),
    (SLIP, True): N_(
        "%(mean)s is far from the %(expected)s of this age: is it the weight of one bird, and the unit right?"
        " If it is, ask your vet."
    ),
}


def _band(expected: float, spread: float, share: float) -> tuple[float, float]:
    off = NormalDist().inv_cdf((1 + share) / 2) * spread
    return expected - off, expected + off


def _weight(grams: float) -> Quantity:
    """Return a weight as people say it: whole grams for chicks, kilograms for the grown."""
    return Quantity(grams / 1000, "kg", 2) if grams >= _SAID_IN_KG else Quantity(grams, "g", 0)


_SAID_IN_KG = 1000
