"""What a repeating order takes of the housing."""

from __future__ import annotations

from farm.models import OrderSeries
from farm.queries import rhythms
from farm.services import series
from tests.conftest import World
from tests.farm.judging import day


def repeating(world: World, birds: int = 20, age: int = 70, every: int = 2) -> OrderSeries:
    new = series.NewSeries(
        customer="Brook House",
        programme="chicken_layer_brown",
        birds=birds,
        age_from_days=age,
        age_to_days=age + 7,
        every_weeks=every,
        first_on=day(70),
        last_on=day(70),
    )
    return series.add(world.by, new=new)


def test_birds_are_in_heated_housing_first_and_in_the_other_until_handed_over(world: World):
    asked = repeating(world)

    warm = rhythms.of_series(asked, world.housing["Brooder 1"])
    cool = rhythms.of_series(asked, world.housing["Pen 1"])

    assert 14 <= warm.days <= 56  # what hens' chicks need heat for, whatever the table says exactly
    assert warm.days + cool.days == 70


def test_a_run_has_them_only_once_they_may_be_out(world: World):
    world.add_housing("Run 1", kind="run", area_m2=40.0, heated=False, indoor=False)
    asked = repeating(world)

    outside = rhythms.of_series(asked, world.housing["Run 1"])

    assert outside.days <= rhythms.of_series(asked, world.housing["Pen 1"]).days


def test_birds_handed_over_before_they_would_live_there_take_none(world: World):
    chicks = rhythms.of_series(repeating(world, age=2), world.housing["Pen 1"])

    assert (chicks.days, chicks.bound, chicks.needed) == (0, 0, 0)


def test_more_birds_more_often_never_take_fewer(world: World):
    brooder = world.housing["Brooder 2"]
    few, many = repeating(world, birds=10, every=4), repeating(world, birds=40, every=1)

    assert rhythms.of_series(few, brooder).bound <= rhythms.of_series(many, brooder).bound
