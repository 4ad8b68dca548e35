"""The nights as they are drawn: the band, the lines, the levels and the twin say the same numbers."""

import re
from datetime import date
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.models import Batch, Housing
from farm.planning.window import Window
from farm.queries.nights import Bearing, Nights
from farm.web.board import nights

GREYS, PEN = Batch(name="Greys"), Housing(name="Pen 1")
WIDTH = 10.0


def found(cold, warm, bears=(), foretold=(), confidence=0.9):
    lines = tuple(
        Bearing(GREYS, PEN, np.array(line, dtype=float), np.where(np.isnan(line), np.nan, chance))
        for line, chance in bears
    )
    told = np.array([i in foretold for i in range(len(cold))])
    window = Window(date(2031, 5, 1), len(cold))
    return Nights(window, np.array(cold, dtype=float), np.array(warm, dtype=float), told, lines, confidence)


def points(polygon):
    return [tuple(map(float, pair.split(","))) for pair in polygon.split()]


temps = st.floats(-40, 45)


@given(st.lists(st.tuples(temps, temps).map(sorted), min_size=1, max_size=60))
def test_the_band_goes_out_along_the_warm_edge_and_back_along_the_cold(pairs):
    cold, warm = zip(*pairs, strict=True)
    panel = nights.draw(found(cold, warm), WIDTH, "metric")
    there = points(panel.band)
    assert len(there) == 2 * len(pairs)
    half = len(pairs)
    for (x, upper), (back_x, lower) in zip(there[:half], reversed(there[half:]), strict=True):
        assert x == back_x
        assert panel.top - 0.1 <= upper <= lower <= panel.floor + 0.1


@given(st.lists(temps, min_size=2, max_size=30, unique=True))
def test_warmer_stands_higher_on_lines_and_levels(values):
    panel = nights.draw(found(values, [50.0] * len(values)), WIDTH, "metric")
    lower = [y for _, y in reversed(points(panel.band)[len(values) :])]
    order = np.argsort(values)
    assert all(lower[a] >= lower[b] for a, b in pairwise(order))
    assert [degrees for _, degrees in panel.levels] == sorted(degrees for _, degrees in panel.levels)
    ys = [y for y, _ in panel.levels]
    assert ys == sorted(ys, reverse=True)


def test_a_line_breaks_where_the_birds_are_elsewhere():
    nan = float("nan")
    panel = nights.draw(found([0] * 6, [9] * 6, [([5, 5, nan, nan, 3, 3], 0.95)]), WIDTH, "metric")
    assert re.findall(r"M(\d+)", panel.lines[0].path) == ["0", "40"]


def test_levels_are_round_in_the_farms_own_degrees():
    freezing = found([0.0], [20.0])
    metric, us = (dict(nights.draw(freezing, WIDTH, system).levels) for system in ("metric", "us"))
    assert set(metric.values()) == {0, 5, 10, 15, 20}
    assert set(us.values()) == {40, 50, 60}


def test_the_forecast_is_marked_night_by_night():
    panel = nights.draw(found([0] * 6, [9] * 6, foretold=(1, 2, 5)), WIDTH, "metric")
    assert panel.forecast == ((10.0, 20.0), (50.0, 10.0))


@pytest.mark.parametrize("chance, safe", [(0.95, True), (0.899, False)])
def test_the_twin_says_the_most_demanding_night_and_whether_it_is_safe(chance, safe):
    panel = nights.draw(found([0] * 8, [9] * 8, [([6, 5, 5, 5, 5, 5, 5, 4], chance)]), WIDTH, "metric")
    first, second = panel.weeks
    assert (first.borne[0].outside_c, second.borne[0].outside_c) == (6, 4)
    assert first.borne[0].safe == safe
    assert first.borne[0].percent == int(chance * 100 + 1e-9)


def test_numbers_stay_inside_and_clear_of_each_other():
    nan = float("nan")
    late = [nan] * 19 + [5]
    panel = nights.draw(found([0] * 20, [9] * 20, [([5] * 20, 0.5)] * 3 + [(late, 0.5)]), WIDTH, "metric")
    spots = [(line.x, line.y) for line in panel.lines]
    assert [line.number for line in panel.lines] == [1, 2, 3, 4]
    assert len(set(spots[:3])) == 3
    assert all(0 <= x <= panel.width for x, _ in spots)


def test_a_batch_that_bears_every_night_has_no_line_but_stands_in_the_table():
    panel = nights.draw(found([0] * 7, [9] * 7, [([-20] * 7, 0.999)]), WIDTH, "metric")
    assert panel.lines == ()
    assert panel.weeks[0].borne[0].percent == 99
