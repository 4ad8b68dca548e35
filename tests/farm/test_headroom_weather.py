"""How many more could come, on a farm whose nights keep young birds in."""

from datetime import timedelta

import pytest

from farm.models import Headroom
from farm.queries import asking, kinds, planning
from farm.queries import headroom as table
from farm.services import headroom, housings, weather
from farm.trade import load
from tests.conftest import NOON, TODAY
from tests.farm.weather_world import STILL, day, settle

BROWN = load.programmes()["chicken_layer_brown"]


@pytest.fixture
def kept(world):
    """Browns until they are old, with one brooder, one pen for half of their life, and a paddock."""
    world.add_housing("Paddock", kind="paddock", area_m2=400.0, heated=False, indoor=False)
    housings.change(world.by, housing_id=world.housing["Pen 1"].pk, expected_version=None, area_m2=2.0)
    world.add_batch("Browns", birds=10, age=14, housing="Brooder 1", leaves_on=day(120))
    return world


def refresh(world):
    return headroom.refresh(farm_id=world.farm.pk, now=NOON)


def birds(world):
    return list(Headroom.objects.filter(farm=world.farm).order_by("day").values_list("birds", flat=True))


def test_cold_nights_leave_less_room_in_the_paddock(kept):
    refresh(kept)
    free = birds(kept)
    settle(kept, low_mean_c=[-25.0] * 12)
    refresh(kept)
    assert all(less <= more for less, more in zip(birds(kept), free, strict=True))
    assert birds(kept) != free


def test_a_new_climate_makes_the_table_anew_though_no_batch_here_feels_it(kept):
    settle(kept, **STILL)
    refresh(kept)
    before = planning.problem(kept.farm, TODAY).digest
    winters = [-25.0, -25.0, -25.0, *[18.0] * 6, -25.0, -25.0, -25.0]
    weather.enter(kept.by, months=STILL | {"low_mean_c": winters})
    assert planning.problem(kept.farm, TODAY).digest == before
    assert refresh(kept) == 365
    assert refresh(kept) == 0


def test_the_page_counts_as_the_table_does(kept):
    settle(kept)
    refresh(kept)
    now = asking.adopted(kept.farm, TODAY)
    kind = kinds.of(kept.farm, "chicken_layer_brown", TODAY)
    found = asking.year(now, kind, TODAY, held=kinds.held(kept.farm, "chicken_layer_brown", TODAY))
    assert found.birds[0].tolist() == birds(kept)


def test_no_arrival_is_let_out_sooner_than_its_own_nights_allow(kept):
    settle(kept)
    sky = planning.rows(kept.farm).sky
    held = table.held(sky, BROWN, TODAY, 60)
    for offset, until in enumerate(held):
        own = sky.held_back(BROWN, TODAY + timedelta(days=offset))
        assert until is None if own is None else until is not None
        assert own is None or own <= until <= own + timedelta(days=14)


def test_without_a_climate_nobody_is_held_back(kept):
    assert kinds.held(kept.farm, "duck", TODAY, 5) == (None,) * 5
