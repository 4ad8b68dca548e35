"""The drawing says what the numbers say: areas of shapes are loads, and nothing is drawn where nothing is."""

from __future__ import annotations

import re
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.planning.window import Window
from farm.web import plumage
from farm.web.board import bands, geometry
from farm.web.board.bands import Load, stacked
from farm.web.board.geometry import Scale, between, line, path

START = date(2026, 5, 1)
SCALE = Scale(day_width=13.0, floor=80.0, height=72.0, full_m2=6.0)

amounts = st.lists(st.one_of(st.just(0.0), st.floats(0.01, 5.0, allow_nan=False)), min_size=1, max_size=40)


def load(
    m2: list[float], key: str = "1", hatched: int = -10, feathered: float = 42.0, name: str = "Browns"
) -> Load:
    values = np.array(m2, dtype=np.float64)
    born = START + timedelta(days=hatched)
    return Load(key, key, name, born, feathered, values, [10 if each else 0 for each in m2])


def test_days_grow_to_the_right_and_loads_upwards():
    assert (SCALE.x(0), SCALE.x(2)) == (0.0, 26.0)
    assert (SCALE.y(0), SCALE.y(6.0), SCALE.y(3.0)) == (80.0, 8.0, 44.0)


def test_a_load_is_drawn_as_a_stair_of_whole_days():
    shape = between(np.zeros(3), np.array([1.5, 1.5, 3.0]), SCALE)

    assert shape == [[(0, 62), (26, 62), (26, 44), (39, 44), (39, 80), (0, 80)]]


def test_days_without_a_load_part_the_shape():
    shapes = between(np.zeros(3), np.array([1.0, 0.0, 1.0]), SCALE)

    assert [(shape[0][0], shape[1][0]) for shape in shapes] == [(0.0, 13.0), (26.0, 39.0)]


@given(amounts)
def test_the_area_of_a_shape_is_the_sum_of_its_loads(m2: list[float]):
    values = np.array(m2)

    assert SCALE.m2(between(np.zeros(len(m2)), values, SCALE)) == pytest.approx(
        values.sum(), abs=0.001 * len(m2)
    )


@given(
    st.integers(1, 30).flatmap(lambda n: st.tuples(*[st.lists(st.floats(0, 2), min_size=n, max_size=n)] * 3))
)
def test_each_stacked_band_has_the_area_of_its_own_load(loads: tuple[list[float], ...]):
    parts = [load(m2, str(i)) for i, m2 in enumerate(loads)]

    for band in stacked(parts, Window(START, len(loads[0])), SCALE):
        expected = parts[int(band.key)].m2
        drawn = float(expected[expected > geometry.NOTHING_M2].sum())
        assert SCALE.m2(band.shapes) == pytest.approx(drawn, abs=0.002 * len(expected))


@given(amounts, st.floats(0.5, 4.0))
def test_the_part_above_a_line_is_exactly_what_is_over(m2: list[float], capacity: float):
    asked, given_m2 = np.array(m2), np.full(len(m2), capacity)

    shapes = between(given_m2, np.maximum(asked, given_m2), SCALE)

    over = np.maximum(asked - capacity, 0)
    assert bool(shapes) == bool((over > geometry.NOTHING_M2).any())
    assert SCALE.m2(shapes) == pytest.approx(over.sum(), abs=0.001 * len(m2))


def test_the_capacity_line_is_open_and_stops_where_the_housing_is_out_of_use():
    given_m2 = np.array([4.0, 4.0, 0.0, 4.0])

    assert line(given_m2, given_m2 > 0, SCALE) == [[(0, 32), (26, 32)], [(39, 32), (52, 32)]]
    assert path(line(given_m2, given_m2 > 0, SCALE), closed=False) == "M0 32L26 32M39 32L52 32"


def test_a_path_is_closed_and_short():
    assert path([[(0.0, 1.5), (2.0, 1.5), (2.0, 0.25)]]) == "M0 1.5L2 1.5L2 0.25Z"


def test_bands_lie_on_each_other_in_the_order_given():
    low, high = stacked([load([1.0], "1"), load([2.0], "2")], Window(START, 1), SCALE)

    assert [y for _x, y in low.shapes[0]] == [68, 68, 80, 80]
    assert [y for _x, y in high.shapes[0]] == [44, 44, 68, 68]


def test_a_stay_without_a_bird_in_the_window_has_no_band():
    assert stacked([load([0.0, 0.0])], Window(START, 2), SCALE) == ()


@given(st.integers(-60, 20), st.integers(21, 56), st.integers(0, 30))
def test_the_ramp_along_a_band_has_the_colour_of_each_days_age(hatched: int, feathered: int, day: int):
    (band,) = stacked([load([1.0] * 31, hatched=hatched, feathered=feathered)], Window(START, 31), SCALE)

    share = (SCALE.x(day) - band.x1) / (band.x2 - band.x1)
    assert _shown(band, share) == pytest.approx(_channels(plumage.colour(day - hatched, feathered)), abs=1.01)


def _channels(colour: str) -> list[int]:
    return [int(pair, 16) for pair in re.findall("..", colour[1:])]


def _shown(band: bands.Band, share: float) -> list[float]:
    """What a browser paints: stops blended linearly, the first and last held."""
    share = min(1.0, max(0.0, share))
    stops = [stop.offset for stop in band.stops]
    return [
        float(np.interp(share, stops, [_channels(stop.colour)[channel] for stop in band.stops]))
        for channel in range(3)
    ]


def test_each_stage_of_plumage_is_patterned_on_its_own_days():
    (band,) = stacked([load([1.0] * 50, hatched=0, feathered=40)], Window(START, 50), SCALE)

    starts = {each.stage: each.path.split(" ")[0] for each in band.slices}
    assert starts == {"down": "M0", "pinning": "M182", "feathering": "M364", "feathered": "M520"}


def test_the_patterned_slices_cover_the_band_and_no_more():
    window = Window(START, 50)
    (band,) = stacked([load([1.0] * 50, hatched=0, feathered=40)], window, SCALE)

    days = bands.stage_days(40, 0, 50)
    assert sum(each.sum() for each in days.values()) == 50
    assert list(days) == ["down", "pinning", "feathering", "feathered"]
    assert len(band.slices) == 4


def test_a_band_is_named_where_its_name_fits():
    window = Window(START, 30)

    (tall,) = stacked([load([3.0] * 30)], window, SCALE)
    (flat,) = stacked([load([0.5] * 30)], window, SCALE)
    (brief,) = stacked([load([3.0] * 3 + [0.0] * 27)], window, SCALE)

    assert tall.labels[0].text == "Browns"
    assert flat.labels == ()
    assert brief.labels == ()


def test_ages_in_weeks_are_written_where_a_stage_begins():
    (band,) = stacked([load([3.0] * 60, hatched=0, feathered=42)], Window(START, 60), SCALE)

    assert [(label.weeks, label.x) for label in band.labels] == [
        (None, 4.0),
        (2, 14 * 13 + 4),
        (5, 35 * 13 + 4),
        (6, 42 * 13 + 4),
    ]


def test_no_label_stands_where_a_shortfall_is_drawn():
    low = np.full(30, 1.0)

    (band,) = stacked([load([3.0] * 30)], Window(START, 30), SCALE, ceiling=low)

    assert all(label.y > SCALE.y(1.0) for label in band.labels)


def test_a_band_knows_its_days_and_ages():
    (band,) = stacked([load([0.0, 1.0, 1.0, 0.0])], Window(START, 4), SCALE)

    assert (band.first_day, band.last_day) == (START + timedelta(days=1), START + timedelta(days=2))
    assert (band.first_age, band.last_age, band.birds) == (11, 12, 10)
