"""Advice about a batch from what was noted of it and of its housing."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.queries import advice
from farm.services import observations
from tests.conftest import NOON, TODAY, World


@pytest.fixture
def chicks(world: World):
    return world.add_batch("Chicks", age=3, housing="Brooder 1")


def saw(world: World, hours_ago: float = 1, **fields):
    return observations.add(world.by, at=NOON - timedelta(hours=hours_ago), **fields)


def warm(batch):
    return advice.warm(batch, TODAY, NOON)


def test_where_nobody_looked_the_table_is_said_with_a_call_to_look(world: World, chicks):
    assert warm(chicks).verdict == "look"


def test_huddled_chicks_outrank_a_thermometer_that_says_all_is_well(world: World, chicks):
    place = world.housing["Brooder 1"].pk
    saw(world, kind="temperature", value=33.0, housing_id=place)
    saw(world, kind="behaviour", word="huddled", batch_id=chicks.pk, housing_id=place)

    found = warm(chicks)

    assert found.verdict == "warmer"
    assert "heat_lamp" in found.cautions


def test_what_was_seen_in_its_housing_counts_for_a_batch_and_elsewhere_does_not(world: World, chicks):
    saw(world, kind="behaviour", word="huddled", housing_id=world.housing["Brooder 2"].pk)
    assert warm(chicks).verdict == "look"

    saw(world, kind="behaviour", word="huddled", housing_id=world.housing["Brooder 1"].pk)
    assert warm(chicks).verdict == "warmer"


def test_another_batch_beside_it_is_not_it(world: World, chicks):
    other = world.add_batch("Others", age=3, housing="Brooder 1")
    saw(world, kind="behaviour", word="huddled", batch_id=other.pk, housing_id=world.housing["Brooder 1"].pk)

    assert warm(chicks).verdict == "look"


def test_what_was_seen_long_ago_is_over(world: World, chicks):
    saw(world, 25, kind="behaviour", word="huddled", batch_id=chicks.pk)

    assert warm(chicks).verdict == "look"


@pytest.mark.parametrize("age", [-4, 90])
def test_birds_to_come_and_birds_off_heat_get_no_advice_of_warmth(world: World, age: int):
    assert warm(world.add_batch("Batch", age=age)) is None


def test_the_last_weighing_is_judged_by_the_age_of_its_day(world: World):
    batch = world.add_batch("Browns", age=40)
    saw(world, 24 * 5, kind="weight", value=400.0, birds=10, batch_id=batch.pk)

    found = advice.weight(batch, TODAY)

    assert found.age_days == 35
    assert found.said.verdict in ("usual", "light", "heavy")
    assert advice.weight(batch, TODAY + timedelta(days=12)) is None


def test_a_slip_of_units_is_asked_about(world: World):
    batch = world.add_batch("Browns", age=40)
    saw(world, kind="weight", value=5000.0, batch_id=batch.pk)

    assert advice.weight(batch, TODAY).said.verdict == "slip"
