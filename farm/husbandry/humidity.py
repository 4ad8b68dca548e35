"""Relative humidity from a dry and a wet bulb, and back.

Tetens' formula for the pressure of saturated vapour and the psychrometer equation, both as in FAO Irrigation and
Drainage Paper 56 (FAO56), equations 11 and 15.
"""

from __future__ import annotations

from math import exp

from farm.trade.general import figure

#: Tetens over water: kPa, pure number, °C.
_TETENS_KPA, _TETENS_SLOPE, _TETENS_C = 0.6108, 17.27, 237.3
_HALVINGS = 60  # of the bracket; more than a double can tell apart


def saturated_kpa(temp_c: float) -> float:
    """Return the pressure of saturated water vapour in kPa."""
    return _TETENS_KPA * exp(_TETENS_SLOPE * temp_c / (temp_c + _TETENS_C))


def rh_from_bulbs(dry_c: float, wet_c: float, pressure_kpa: float | None = None) -> float:
    """Return the relative humidity in % that two thermometers show, the wet one in moving air.

    pressure_kpa: of the air, at sea level by default. ValueError when the wet bulb is the warmer one, or so cold
    that no air is that dry: one of the two was misread.
    """
    if wet_c > dry_c:
        raise ValueError("a wet bulb is never warmer than a dry one")
    found = _rh(dry_c, wet_c, _pressure(pressure_kpa))
    if found < 0:
        raise ValueError("no air is dry enough for so cold a wet bulb")
    return found


def wet_bulb_c(dry_c: float, rh: float, pressure_kpa: float | None = None) -> float:
    """Return what the wet bulb shows at a relative humidity in %: the inverse of `rh_from_bulbs`.

    ValueError for a humidity outside 0 to 100.
    """
    if not 0 <= rh <= 100:
        raise ValueError("relative humidity lies between 0 and 100 %")
    pressure, low, high = _pressure(pressure_kpa), dry_c - 100.0, dry_c
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _rh(dry_c, middle, pressure) < rh else (low, middle)
    return high


def _rh(dry_c: float, wet_c: float, pressure_kpa: float) -> float:
    drying = figure("incubation", "psychrometer_per_c") * pressure_kpa * (dry_c - wet_c)
    return 100 * (saturated_kpa(wet_c) - drying) / saturated_kpa(dry_c)


def _pressure(pressure_kpa: float | None) -> float:
    return figure("incubation", "sea_level_kpa") if pressure_kpa is None else pressure_kpa
