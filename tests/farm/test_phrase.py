from __future__ import annotations

from datetime import date

import pytest

from farm import units
from farm.phrase import Phrase, Quantity
from farm.wording import quantity, say

BIRDS = Phrase("%(n)d bird too many", {"n": 1}, "%(n)d birds too many", "n")


def birds(n: int) -> Phrase:
    return Phrase(BIRDS.text, {"n": n}, BIRDS.plural, "n")


@pytest.mark.parametrize(
    ("n", "words"), [(0, "0 birds too many"), (1, "1 bird too many"), (26, "26 birds too many")]
)
def test_a_count_takes_its_plural(n: int, words: str):
    assert str(birds(n)) == say(birds(n)) == words


def test_a_phrase_may_hold_days_quantities_and_other_phrases():
    phrase = Phrase(
        "%(room)s is %(short)s short on %(day)s: %(birds)s",
        {"room": "Pen 2", "short": Quantity(0.64, "m2"), "day": date(2026, 5, 9), "birds": birds(7)},
    )

    assert str(phrase) == say(phrase) == "Pen 2 is 0.6 m² short on 9 May: 7 birds too many"


def test_a_phrase_without_values_may_hold_a_percent_sign():
    assert str(Phrase("25 % of the feed")) == say(Phrase("25 % of the feed")) == "25 % of the feed"


@pytest.mark.parametrize(
    ("value", "system", "words"),
    [
        (Quantity(29.4, "degC"), units.METRIC, "29.4 °C"),
        (Quantity(29.4, "degC", digits=0), units.US, "85 °F"),
        (Quantity(2.8, "delta_degC", digits=0), units.US, "5 °F"),
        (Quantity(0.0929, "m2"), units.US, "1.0 ft²"),
        (Quantity(29.4, "degC", digits=0, bare=True), units.METRIC, "29"),
    ],
)
def test_a_quantity_is_said_in_the_farms_units(value: Quantity, system: str, words: str):
    assert quantity(value, system) == words


def test_numbers_are_rounded_not_cut_off():
    assert quantity(Quantity(84.96, "cm")) == "85.0 cm"
    assert say(Phrase("%(x)s", {"x": 2.999})) == "3.0"
