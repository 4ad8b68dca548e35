"""The invented demo farm's orders. Customers are codes that stand for nobody; days count from the planting day.

One cannot be met in full: brown pullets at five weeks, of which too few will hatch in time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class DemoOrder:
    """An order of one line: birds of a type, so old in days, between two days from planting."""

    customer: str
    programme: str
    birds: int
    ages: tuple[int, int]
    days: tuple[int, int]
    ordered_on: int = -10
    sex: str = "any"
    status: str = "confirmed"
    priority: int = 2
    deposit: str = ""


ORDERS = (
    DemoOrder("A-12", "chicken_dual", 15, (35, 42), (24, 29), deposit="20 paid on 2 May (invented)"),
    DemoOrder("A-14", "chicken_dual", 20, (0, 3), (12, 14)),
    DemoOrder("B-03", "chicken_layer_brown", 9, (28, 35), (28, 34), sex="female", priority=1),
    DemoOrder("B-07", "chicken_layer_brown", 10, (28, 35), (29, 34), sex="female"),
    DemoOrder("C-21", "quail_layer", 20, (28, 34), (30, 36)),
    DemoOrder("C-22", "chicken_dual", 25, (0, 3), (27, 30)),
    DemoOrder("D-01", "duck", 10, (0, 2), (60, 74), status="quote"),
)
#: Pullets of "Early browns" already handed over.
FILLED = DemoOrder("A-09", "chicken_layer_brown", 4, (56, 80), (-6, -2), ordered_on=-30, sex="female")
FILLED_FROM, FILLED_ON = "Early browns", -3

SERIES: dict[str, Any] = {
    "customer": "M-05",
    "programme": "chicken_dual",
    "birds": 20,
    "age_from_days": 0,
    "age_to_days": 3,
    "every_weeks": 2,
    "window_days": 3,
}
SERIES_FIRST, SERIES_LAST = 60, 74
HOLD_IN = "E1"
HOLD: dict[str, Any] = {"birds": 4, "reason": "for our own flock (invented)"}
