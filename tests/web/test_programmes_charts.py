"""Curves as drawings: what stands where, and that it says what the husbandry says."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.trade import load
from farm.trade.programme import OWN, Knot
from farm.web.programmes import charts, tables

BROWN = load.programmes()["chicken_layer_brown"]


def points(line):
    return [tuple(float(number) for number in pair.split(",")) for pair in line.points.split()]


def changed(curve, knots):
    return replace(
        BROWN, curves={**BROWN.curves, curve: tuple(Knot(day, value, OWN) for day, value in knots)}
    )


@pytest.mark.parametrize("key", sorted(load.programmes()))
@pytest.mark.parametrize("system", ["metric", "us"])
def test_every_line_stays_inside_its_frame_and_runs_from_hatch_to_the_end(key, system):
    for chart in charts.charts(load.programmes()[key], system):
        for line in chart.lines:
            found = points(line)
            assert found[0][0] == chart.left
            assert found[-1][0] == chart.right
            assert all(chart.left <= x <= chart.right and chart.top <= y <= chart.bottom for x, y in found)


def test_floor_area_is_drawn_as_steps():
    area = next(chart for chart in charts.charts(BROWN, "metric") if chart.key == "area")
    found = points(area.lines[0])
    # Each move goes either across or up, never slantwise.
    assert all(x1 == x2 or y1 == y2 for (x1, y1), (x2, y2) in pairwise(found))


def test_lines_differ_by_pattern_and_label():
    for chart in charts.charts(BROWN, "us"):
        assert len({line.pattern for line in chart.lines}) == len(chart.lines)
        assert len({line.label for line in chart.lines}) == len(chart.lines)


def test_only_drawings_that_differ_are_compared_old_beside_new():
    new = changed("temp_c", [(0, 36.0), (35, 21.0)])
    (chart,) = charts.compared(BROWN, new, "metric")
    assert (chart.key, [line.label for line in chart.lines]) == ("temperature", ["now", "then"])


def test_a_weight_that_changes_for_one_sex_shows_both_sexes_old_and_new():
    new = changed("weight_male_g", [(0, 40.0), (140, 2200.0)])
    (chart,) = charts.compared(BROWN, new, "metric")
    assert [line.label for line in chart.lines] == [
        "now (female)",
        "then (female)",
        "now (male)",
        "then (male)",
    ]


@given(
    st.lists(st.integers(0, 300), min_size=1, max_size=6, unique=True).map(sorted),
    st.lists(st.floats(15, 45), min_size=6, max_size=6),
)
def test_any_temperature_table_can_be_drawn(days, values):
    new = changed("temp_c", list(zip(days, values, strict=False)))
    chart = charts.charts(new, "metric")[0]
    assert all(chart.top <= y <= chart.bottom for _x, y in points(chart.lines[0]))
    assert 2 <= len(chart.up) <= 12
    assert len(chart.across) <= 15


def test_a_difference_is_said_with_value_and_source():
    (one,) = tables.differences(BROWN, changed("bedding_every_days", [(0, 3.0)]), "metric")
    assert one == tables.Difference(
        "Bedding topped up every, day 0",
        "2 days (common practice, no source)",
        "3 days (this farm's own figure)",
    )


def test_rows_that_come_or_go_are_said_with_nothing_on_one_side():
    found = tables.differences(BROWN, changed("bedding_every_days", [(0, 2.0), (28, 7.0)]), "metric")
    assert [(one.label, one.before) for one in found if one.label.endswith("day 28")] == [
        ("Bedding topped up every, day 28", "")
    ]
    back = tables.differences(changed("bedding_every_days", [(0, 2.0), (28, 7.0)]), BROWN, "metric")
    assert [one.after for one in back if one.label.endswith("day 28")] == [""]


def test_a_programme_does_not_differ_from_itself():
    assert all(tables.differences(one, one, "us") == [] for one in load.programmes().values())
