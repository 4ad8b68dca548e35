"""The quick bound on what a batch costs, and the order of arrivals it saves looking at."""

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, Phase, given, settings

from bench import plan_farms
from farm.planning.atlas import Atlas
from farm.planning.fewest import Fewest
from farm.planning.ground import Ground
from farm.planning.problem import Arrival
from tests.planning.plan_strategies import problems
from tests.planning.plan_world import batch, brooder, day, farm, past, pen, pin, stages

ANY = settings(
    max_examples=40,
    deadline=None,
    phases=[Phase.generate],
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)


def price(problem, arrivals=(0,)):
    """The bound for the first batch of a problem, all its birds together."""
    one = problem.batches[0]
    return Fewest(Ground(problem)).price(one, one.birds, list(arrivals))


def choices(atlas):
    """Every batch with the sizes it may be tried in: whole, and in two equal parts."""
    for at, whole in enumerate(atlas.whole):
        birds = atlas.ground.batches[at].birds
        yield at, [whole, *([(birds - birds // 2, birds // 2)] if birds > 1 and len(whole) == 1 else [])]


@ANY
@given(problems(most_batches=5, most_housings=5, days=84))
def test_the_bound_is_never_above_the_price_of_a_batch_alone(problem):
    atlas = Atlas(Ground(problem))
    for at, options in choices(atlas):
        for sizes in options:
            for arrival in atlas.arrivals[at]:
                assert atlas.floor(at, sizes, arrival) <= atlas.alone(at, sizes, arrival)


@ANY
@given(problems(most_batches=5, most_housings=5, days=84))
def test_arrivals_come_in_the_order_of_their_price_alone_then_of_rank_and_day(problem):
    atlas, plain = Atlas(Ground(problem)), Atlas(Ground(problem))
    for at, options in choices(atlas):
        every = sorted(
            (plain.alone(at, sizes, arrival), rank, arrival)
            for rank, sizes in enumerate(options)
            for arrival in plain.arrivals[at]
        )
        assert list(atlas.tries(at, options)) == every
        assert list(atlas.tries(at, options)) == every  # when all is known, too
        assert list(atlas.tries(at, options, lambda least: least > every[0][0])) == [  # noqa: B023
            each for each in every if each[0] <= every[0][0]
        ]


def test_arrivals_that_cannot_be_best_are_not_looked_at():
    atlas = Atlas(Ground(plan_farms.planted("medium", 1).problem))
    looked = []
    alone = atlas.alone
    atlas.alone = lambda *asked: looked.append(asked) or alone(*asked)
    for at, whole in enumerate(atlas.whole):
        next(atlas.tries(at, [whole]))
    assert len(looked) == len(atlas.whole) < sum(len(days) for days in atlas.arrivals)


def test_each_stage_apart_from_the_others_takes_one_move():
    # 1,000 a move: brooder, pen.
    assert price(farm(batch())) == 1000


def test_birds_that_may_stay_where_they_begin_need_not_move():
    assert price(farm(batch(stages=stages(brooder_to=None)))) == 0


def test_ages_that_no_housing_suits_are_spent_nowhere_at_the_least_price():
    # Seven days between brooder and pen: 10 birds ask for 100 dm², 200 each, and for two moves.
    assert price(farm(batch(stages=stages(brooder_to=28, pen_from=35)))) == 2000 + 7 * 200 * 200
    assert price(farm(batch(stages=stages(brooder_to=21, pen_from=28)))) == 2000 + 7 * 100 * 200


def test_a_housing_for_other_species_helps_nobody():
    rooms = (brooder(), pen(species=frozenset({"duck"})))
    assert price(farm(batch(), housings=rooms)) == 1000 + 35 * 200 * 200


def test_the_shortest_life_of_all_arrivals_counts():
    one = batch(leave_age_days=None, leaves=day(30), arrival=Arrival(day(0), day(0), day(10)))
    assert [price(farm(one), arrivals) for arrivals in ([0], [0, 9])] == [0, 0]
    assert price(farm(replace(one, leaves=day(40))), [0]) == 1000
    assert price(farm(replace(one, leaves=day(40))), [0, 9]) == 0


@pytest.mark.parametrize(
    "problem",
    (
        farm(batch(), pins=(pin("pen", 0, 70),)),
        farm(batch(arrives=-7, history=(past("brooder", -7, 0),))),
    ),
)
def test_what_is_fixed_may_break_every_rule_so_nothing_is_promised(problem):
    atlas = Atlas(Ground(problem))
    assert atlas.floor(0, (10,), atlas.arrivals[0][0]) == 0
