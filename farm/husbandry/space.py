"""Room and edge: the floor, feeder, drinker, perch and nest an age asks for. Keepers may always give more."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import curve
from farm.trade.programme import Programme


def area_m2(programme: Programme, age_days: ArrayLike) -> NDArray[np.float64]:
    """Return the least floor area per bird in m² at each age: a step function."""
    return curve.of(programme, "area_m2", age_days)


def feeder_cm(programme: Programme, age_days: ArrayLike) -> NDArray[np.float64]:
    """Return the feeder edge per bird in cm at each age; both sides of a trough count."""
    return curve.of(programme, "feeder_cm", age_days)


def drinker_cm(programme: Programme, age_days: ArrayLike) -> NDArray[np.float64]:
    """Return the drinker edge per bird in cm at each age; a round edge counts as its length."""
    return curve.of(programme, "drinker_cm", age_days)


def perch_cm(programme: Programme, birds: int) -> float:
    """Return the perch length in cm for so many grown birds, 0 for birds that do not perch."""
    rule = programme.rules.get("perch_cm")
    return rule.value * birds if rule else 0.0


def nests(programme: Programme, hens: int) -> int:
    """Return how many nest boxes so many hens need, 0 for birds that are not given nests."""
    rule = programme.rules.get("hens_per_nest")
    return math.ceil(hens / rule.value) if rule else 0
