"""Which columns of a weather table are which, by their headings."""

import pytest

from farm.husbandry.weather_cells import headings


@pytest.mark.parametrize(
    "cells, columns",
    [
        (["Date", "Minimum", "Maximum"], (0, 1, 2, None)),
        (["max", "min", "date"], (2, 1, 0, None)),
        (["date", "min humidity", "max humidity"], None),
        (["date", "min [C]", "max [C]"], (0, 1, 2, "C")),
        (["date", "min Fahrenheit", "max Fahrenheit"], (0, 1, 2, "F")),
        (["date", "min (F)", "max (C)"], (0, 1, 2, None)),
    ],
)
def test_headings_name_the_columns(cells, columns):
    found = headings(cells)
    assert (found and (found.day, found.low, found.high, found.unit)) == columns
