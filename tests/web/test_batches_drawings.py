"""The drawings of a batch: where ages, values, steps and stays stand. Numbers in, numbers out."""

from __future__ import annotations

from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.queries import batches as read
from farm.services import counts, stays
from farm.web.batches import life, losses
from farm.web.batches.axis import Axes, round_step, round_up, stairs
from tests.conftest import TODAY, World
from tests.farm.judging import day


@given(st.floats(0.001, 1e6))
def test_an_axis_ends_on_a_round_number_at_or_above_what_it_must_show(value: float):
    top = round_up(value)
    steps = top / round_step(top)

    assert top >= value * (1 - 1e-9)
    assert steps == pytest.approx(round(steps))
    assert top <= max(value, 1) * 2


@given(st.integers(1, 3000), st.floats(1, 1e5))
def test_marks_stand_within_the_axes_and_few_enough_to_read(last_day: int, value: float):
    axes = Axes(last_day, round_up(value))

    assert 1 <= len(axes.weeks) <= 11
    assert 2 <= len(axes.levels) <= 6
    for x, _week in axes.weeks:
        assert axes.left <= x <= axes.right
    for y, _level in axes.levels:
        assert axes.ceiling <= y <= axes.floor


def test_nothing_is_on_the_floor_and_the_last_day_at_the_right_edge():
    axes = Axes(70, 8)

    assert (axes.x(0), axes.x(70)) == (axes.left, axes.right)
    assert (axes.y(0), axes.y(8)) == (axes.floor, axes.ceiling)
    assert axes.line([(0, 0), (70, 8)]) == f"{axes.left:g},{axes.floor:g} {axes.right:g},{axes.ceiling:g}"


def test_stairs_hold_each_value_for_its_whole_day():
    assert list(stairs([(3, 1), (4, 2)])) == [(3, 1), (4, 1), (4, 2), (5, 2)]


def drawn(world: World, name: str) -> life.Life:
    batch = next(row.batch for row in read.listing(world.farm, TODAY) if row.batch.name == name)
    return life.draw(read.whole(world.farm, batch.pk), TODAY)


def test_the_marks_of_the_life_line_never_cover_each_other(world: World):
    world.add_batch("Browns", age=30, housing="Brooder 1")

    marks = drawn(world, "Browns").days

    assert len(marks) > 8
    by_lane: dict[float, list[float]] = {}
    for mark in marks:
        by_lane.setdefault(mark.y, []).append(mark.x)
    for xs in by_lane.values():
        assert all(after - before >= 24 for before, after in pairwise(xs))


def test_every_step_is_on_the_line_once_in_the_order_of_its_days(world: World):
    world.add_batch("Browns", age=30, housing="Brooder 1")

    marks = drawn(world, "Browns").days

    assert [mark.number for mark in marks] == list(range(1, len(marks) + 1))
    assert [mark.day for mark in marks] == sorted({mark.day for mark in marks})
    assert all(step.due.item.due == mark.day for mark in marks for step in mark.steps)


def test_steps_before_today_are_over_and_later_ones_still_to_come(world: World):
    world.add_batch("Browns", age=30, housing="Brooder 1")

    line = drawn(world, "Browns")

    assert all(
        step.due.item.due > TODAY for mark in line.days for step in mark.steps if step.state == "coming"
    )
    assert all(
        step.due.item.due < TODAY for mark in line.days for step in mark.steps if step.state == "passed"
    )
    assert line.next in line.coming[0].steps


def test_a_stay_is_a_bar_over_its_days_and_two_at_once_lie_under_each_other(world: World):
    batch = world.add_batch("Browns", age=0)
    for name, until in (("Brooder 1", 20), ("Brooder 2", 10)):
        place = world.housing[name].pk
        stays.add(world.by, batch_id=batch.pk, housing_id=place, birds=20, start=TODAY, end=day(until))

    line = drawn(world, "Browns")

    first, second = line.homes
    assert (first.x, second.x) == (0, 0)
    assert second.width == pytest.approx(first.width / 2)
    assert second.y > first.y


def test_the_line_of_a_batch_that_leaves_ends_a_week_after(world: World):
    world.add_batch("Short", age=0, leaves_on=day(40))
    world.add_batch("Open", age=0)

    assert drawn(world, "Short").weeks[-1][1] == (40 + 7) // 7
    assert drawn(world, "Open").weeks[-1][1] == 26 + 1


def test_losses_are_drawn_until_the_last_bird_left(world: World):
    batch = world.add_batch("Browns", age=30)
    counts.add(world.by, batch_id=batch.pk, kind="sold", birds=40, day=day(-9))

    found = losses.draw(read.whole(world.farm, batch.pk), TODAY)

    assert found is not None
    assert (found.now.day, found.now.died, found.now.verdict) == (day(-9), 0, "usual")
    assert found.coming[-1].day <= day(-9) + timedelta(days=14)


def test_a_line_taken_back_is_no_loss(world: World):
    batch = world.add_batch("Browns")
    died = counts.add(world.by, batch_id=batch.pk, kind="died", birds=5, day=TODAY)
    counts.reverse(world.by, entry_id=died.pk)

    found = losses.draw(read.whole(world.farm, batch.pk), TODAY)

    assert found is not None
    assert found.now.died == 0
