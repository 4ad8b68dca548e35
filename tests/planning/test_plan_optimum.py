"""On farms small enough to try every plan, the planner's is the best."""

from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest

from farm.planning import score
from farm.planning.problem import Apart, Arrival, Pin
from farm.planning.solve import solve
from farm.planning.weights import Weights
from tests.planning.plan_brute import chains, cheaper
from tests.planning.plan_world import batch, brooder, day, farm, pen, stages


def tiny(seed, count, window=False):
    """Batches of four weeks on two or three housings too small or too busy for all of them."""
    random = Random(seed)

    def either():
        return random.random() < 0.5

    warm = {"one_batch": either(), "rest_days": random.choice((0, 3)), "area_dm2": random.randrange(60, 160)}
    cold = {
        "one_batch": either(),
        "max_age_gap_days": random.choice((None, 7)),
        "area_dm2": random.randrange(100, 400),
    }
    housings = [
        brooder("b1", **warm),
        pen("p1", **cold),
        random.choice((brooder, pen))("x1", area_dm2=random.randrange(60, 300)),
    ]
    found = []
    for number in range(count):
        arrives = random.randrange(0, 3) * 7
        when = (
            Arrival(day(arrives), day(arrives), day(arrives + 8), frozenset({5}))
            if window
            else Arrival(day(arrives))
        )
        found.append(
            batch(
                f"batch-{number}",
                birds=random.randrange(4, 20),
                arrival=when,
                species=random.choice(("chicken", "turkey")),
                stages=stages(brooder_to=random.choice((14, 21, 28)), pen_from=14),
                demand=replace(batch().demand, heat=(True,) * 14 + (False,) * 70),
                leave_age_days=28,
            )
        )
    return farm(
        *found,
        housings=housings,
        apart=(Apart("chicken", "turkey", True, 0),),
        days=70,
        weights=Weights(spare=0),
    )


def saturdays(arrival):
    """The days worth a move: Saturdays; all ages at which a stage changes fall on one."""
    life = (arrival + timedelta(days=at) for at in range(1, 28))
    return [day for day in life if day.weekday() == 5]


def every_plan(problem):
    return [
        [plan for arrival in one.arrival.days() for plan in chains(problem, one, arrival, saturdays(arrival))]
        for one in problem.batches
    ]


@pytest.mark.parametrize("seed", range(5))
def test_one_batch_takes_the_best_of_all_its_ways(seed):
    problem = tiny(seed, 1, window=True)
    found = solve(problem, iterations=1)
    assert cheaper(problem, every_plan(problem), found.cost) is None


@pytest.mark.parametrize("seed", range(5))
def test_a_batch_put_between_others_takes_the_best_of_all_its_ways(seed):
    problem = tiny(100 + seed, 2)
    first, _ = problem.batches
    alone = solve(replace(problem, batches=(first,)), iterations=1)
    # Pinned where it is, the first batch leaves the second alone to be decided.
    held = replace(problem, pins=tuple(pins_of(alone)))
    found = solve(held, iterations=1)
    choices = [[alone.plans[0]], every_plan(held)[1]]
    assert found.by_batch[first.key] == alone.plans[0]
    assert cheaper(held, choices, found.cost) is None


@pytest.mark.parametrize("seed", range(4))
def test_two_batches_get_the_best_plan_of_all(seed):
    problem = tiny(200 + seed, 2)
    found = solve(problem, iterations=150)
    assert found.cost == score.bill(problem, found.plans).total
    assert cheaper(problem, every_plan(problem), found.cost) is None


def pins_of(solution):
    return [
        Pin(plan.batch, stay.housing, stay.start, stay.end)
        for plan in solution.plans
        for stay in plan.parts[0].stays
        if stay.housing is not None
    ]
