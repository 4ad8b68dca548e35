"""Body weight by age and sex."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import curve
from farm.trade.programme import Programme

FEMALE, MALE, STRAIGHT_RUN = "sexed_female", "sexed_male", "straight_run"
SEXES = (STRAIGHT_RUN, FEMALE, MALE)


def weight_g(programme: Programme, age_days: ArrayLike, sex: str = STRAIGHT_RUN) -> NDArray[np.float64]:
    """Return the expected weight in g of one bird at each age; held after the last knot.

    sex: of SEXES; straight run is the mean of the two. Raises ValueError for any other.
    """
    if sex not in SEXES:
        raise ValueError(f"no such sex of a batch: {sex}")
    if sex == FEMALE:
        return curve.of(programme, "weight_female_g", age_days)
    if sex == MALE:
        return curve.of(programme, "weight_male_g", age_days)
    return (weight_g(programme, age_days, FEMALE) + weight_g(programme, age_days, MALE)) / 2
