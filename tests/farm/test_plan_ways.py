"""The demo's clash: told in a sentence, with ways out; one click tries the first and the board turns whole."""

from __future__ import annotations

import pytest

from farm.errors import NotFound, Stale
from farm.models import Batch, Plan
from farm.planning.window import Window
from farm.queries import plan_ways
from farm.queries import plans as shown
from farm.services import counts, demo, plans
from tests.conftest import NOON, TODAY, World, make_world
from tests.farm.plan_cases import adopted, day


@pytest.fixture
def tight(db: None) -> World:
    """40 chicks planned into a brooder too small for them, with a larger one empty beside it."""
    world = make_world()
    world.add_housing("Small", area_m2=2.0)
    world.add_housing("Large", area_m2=6.0)
    world.add_batch("Reds", birds=40, age=14, housing="Small", leaves_on=day(50))
    return world


def test_the_demos_clash_is_told_with_housing_day_and_birds(db: None):
    planted = demo.plant(now=NOON)

    found = plan_ways.standing(planted.farm, planted.by.today).shortfalls

    assert str(found[0].sentence) == (
        "Brooder 3 is 2.6 m² short on 18 June, when the Summer duals pass 5 weeks: 28 birds too many; the shortage"
        " begins on 4 June"
    )


def test_a_way_out_tried_is_ready_at_once_and_its_board_has_less_short(tight: World):
    standing = plan_ways.standing(tight.farm, TODAY)
    [shortfall, *_more] = standing.shortfalls
    ways = standing.ways(0).ways

    plan = plans.try_way(tight.by, digest=standing.problem.digest, shortfall=0, way=0)

    assert (plan.state, plan.reason) == ("ready", str(ways[0].sentence))
    assert plan.bill["shortfall"] == ways[0].left <= plan.before["shortfall"] - shortfall.price
    page = shown.shown(plan)
    assert shown.sheet(page, Window(day(1), 60), TODAY).breaches == ()


def test_a_way_out_that_plans_anew_can_be_adopted(tight: World):
    standing = plan_ways.standing(tight.farm, TODAY)
    [way] = [at for at, each in enumerate(standing.ways(0).ways) if each.kind == "others"]
    plan = plans.try_way(tight.by, digest=standing.problem.digest, shortfall=0, way=way)

    adopted(tight, plan)

    assert plan_ways.standing(tight.farm, TODAY).shortfalls == ()


def test_ways_of_a_farm_that_has_changed_are_refused(tight: World):
    digest = plan_ways.standing(tight.farm, TODAY).problem.digest
    counts.add(tight.by, batch_id=Batch.objects.get().pk, kind="died", birds=1, day=TODAY)

    with pytest.raises(Stale):
        plans.try_way(tight.by, digest=digest, shortfall=0, way=0)
    assert Plan.objects.count() == 0


@pytest.mark.parametrize(("shortfall", "way"), [(9, 0), (-1, 0), (0, 99), (0, -1)])
def test_a_place_that_is_not_there_is_not_found(tight: World, shortfall: int, way: int):
    digest = plan_ways.standing(tight.farm, TODAY).problem.digest

    with pytest.raises(NotFound):
        plans.try_way(tight.by, digest=digest, shortfall=shortfall, way=way)
    assert Plan.objects.count() == 0
