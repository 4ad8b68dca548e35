"""Warmth: the temperature an age should have under the edge of its heat source, and when heat may end."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import curve
from farm.trade.programme import Knot, Programme


def target_temp_c(programme: Programme, age_days: ArrayLike) -> NDArray[np.float64]:
    """Return the target temperature in °C at back height, in the shape of `age_days`.

    Held at the last knot afterwards: a room that warm needs no heat source.
    """
    return curve.of(programme, "temp_c", age_days)


def set_temp_c(programme: Programme, age_days: int) -> float:
    """Return the °C the heat source is set to at this age: the last knot reached, as the weekly steps lower it."""
    knots = programme.curves["temp_c"]
    return next((knot.value for knot in reversed(knots) if knot.day <= age_days), knots[0].value)


def needs_heat(programme: Programme, age_days: ArrayLike) -> NDArray[np.bool_]:
    """Return whether birds of each age still need a heated housing: True until heat_off_latest_day."""
    return np.asarray(age_days) < programme.rules["heat_off_latest_day"].value


def may_stop(programme: Programme, age_days: ArrayLike) -> NDArray[np.bool_]:
    """Return whether heat may end at each age, if feathers and nights allow: from heat_off_earliest_day."""
    return np.asarray(age_days) >= programme.rules["heat_off_earliest_day"].value


def lowerings(programme: Programme) -> tuple[tuple[int, float], ...]:
    """Return each (day of age, °C) at which the heat goes down a step, before heat_off_latest_day."""
    knots: Sequence[Knot] = programme.curves["temp_c"]
    off = programme.rules["heat_off_latest_day"].value
    return tuple(
        (knot.day, knot.value)
        for before, knot in pairwise(knots)
        if knot.value < before.value and knot.day < off
    )


def next_lower(programme: Programme, age_days: int) -> tuple[int, float] | None:
    """Return the (day of age, °C) of the next step down after this age, or None where there is none."""
    return next((step for step in lowerings(programme) if step[0] > age_days), None)
