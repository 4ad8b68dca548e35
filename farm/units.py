"""The one converter at the edge: SI inside, the farm's own units on pages and forms.

Factors are the exact definitions (1 in = 2.54 cm, 1 lb = 0.45359237 kg, 1 US gal = 3.785411784 L), so a typed
value that is stored and shown again comes back to within 1e-9 of itself.
"""

from __future__ import annotations

from collections.abc import Mapping

from farm.phrase import Quantity

METRIC, US = "metric", "us"
SYSTEMS = (METRIC, US)

#: SI unit -> (label, SI per shown unit, offset in shown units): shown = value / factor + offset.
_METRIC: Mapping[str, tuple[str, float, float]] = {
    "m2": ("m²", 1, 0),
    "cm": ("cm", 1, 0),
    "degC": ("°C", 1, 0),
    "delta_degC": ("°C", 1, 0),
    "g": ("g", 1, 0),
    "kg": ("kg", 1, 0),
    "l": ("L", 1, 0),
}
_US: Mapping[str, tuple[str, float, float]] = {
    "m2": ("ft²", 0.3048**2, 0),
    "cm": ("in", 2.54, 0),
    "degC": ("°F", 5 / 9, 32),
    "delta_degC": ("°F", 5 / 9, 0),
    "g": ("oz", 28.349523125, 0),
    "kg": ("lb", 0.45359237, 0),
    "l": ("US gal", 3.785411784, 0),
}
_TABLES = {METRIC: _METRIC, US: _US}


def shown(quantity: Quantity, system: str) -> tuple[float, str]:
    """Return the value and unit label in the farm's system, unrounded.

    system: METRIC or US. A `delta_degC` is a difference, so 10 °C more is 18 °F more. Raises KeyError for an
    unknown unit or system.
    """
    text, factor, offset = _TABLES[system][quantity.unit]
    return quantity.value / factor + offset, text


def stored(value: float, unit: str, system: str) -> float:
    """Return in SI what a keeper typed in the farm's system: the inverse of `shown`, to 1e-9.

    unit: an SI unit of `Quantity`. Raises KeyError for an unknown unit or system.
    """
    _, factor, offset = _TABLES[system][unit]
    return (value - offset) * factor


def label(unit: str, system: str) -> str:
    """Return the label of a form field for an SI unit of `Quantity`. Raises KeyError for an unknown one."""
    return _TABLES[system][unit][0]
