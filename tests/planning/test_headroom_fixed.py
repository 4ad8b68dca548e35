"""The largest batch that fits with nobody else moving: n fits, n + 1 does not."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from farm.planning import headroom, score
from farm.planning.problem import Apart, Arrival, Capacity, Left
from farm.planning.solve import solve
from farm.planning.yard import Yard
from tests.planning.plan_brute import chains, sound
from tests.planning.plan_strategies import problems
from tests.planning.plan_world import batch, brooder, day, farm, pen, solved, stages
from tests.planning.test_plan_optimum import saturdays, tiny


def largest(problem, number, kind=None, iterations=20):
    """The cell for a batch like the small world's arriving on day `number`: birds, housing and day that bind."""
    table = headroom.fixed(problem, solved(problem, iterations), [kind or batch("new")], day(number), 1)
    cell = table.cell(0, 0)
    return cell.birds, cell.housing.key, (cell.day - problem.start).days


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("arrives", (0, 10))
def test_no_itinerary_of_a_tiny_farm_houses_one_bird_more(seed, arrives):
    problem = tiny(seed, 2)
    solution = solve(problem, iterations=30)
    kind = replace(problem.batches[0], key="new", survivors=(10, 9))
    kind = replace(kind, birds=10)
    birds = int(headroom.fixed(problem, solution, [kind], day(arrives), 1).birds[0, 0])
    assert [fits(problem, solution, kind, arrives, count) for count in (birds, birds + 1)] == [True, False]


def fits(problem, solution, kind, arrives, count):
    """Whether some chain of stays, out of all, adds no shortage and breaks no rule."""
    if not count:
        return True
    # The type's own ten birds stand for `count`: what `loads` makes of a part that large.
    one = replace(headroom.joining(kind, day(arrives), kind.birds), birds=kind.birds)
    trial = replace(problem, batches=(*problem.batches, one))
    before = score.bill(problem, solution.plans).shortfall
    for plan in chains(trial, one, day(arrives), saturdays(day(arrives))):
        sized = replace(plan, parts=(replace(plan.parts[0], birds=count),))
        if score.bill(trial, (*solution.plans, sized)).shortfall == before and sound(
            trial, (*solution.plans, plan)
        ):
            return True
    return False


@settings(
    max_examples=10,
    deadline=None,
    phases=[Phase.generate],
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
@given(problems(most_batches=5, most_housings=5, days=84), st.data())
def test_on_any_farm_the_planner_houses_so_many_and_not_one_more(problem, data):
    solution = solve(problem, iterations=5)
    kind = replace(data.draw(st.sampled_from(problem.batches)), key="new", history=(), parts=())
    first = data.draw(st.integers(0, 60))
    table = headroom.fixed(problem, solution, [kind], day(first), 12)
    for at in data.draw(st.lists(st.integers(0, 11), min_size=1, max_size=3)):
        arrival, birds = day(first + at), int(table.birds[0, at])
        joined = replace(
            problem, batches=(*problem.batches, replace(kind, arrival=Arrival(day(first)))), adopted=()
        )
        yard = Yard(joined, solution.plans, first + 12 + (kind.leave_age_days or 0))
        for count in (birds, birds + 1):
            if count:
                # The planner's own insertion, which makes the least shortage it can.
                assert (yard.attempt(kind, arrival, [count]).short == 0) is (count == birds)


def test_an_empty_farm_holds_what_its_smallest_stage_does():
    # Grown birds ask for 20 dm² each: five fit in the brooder, seven in the pen, where they go as they come of age.
    problem = farm(batch("far", arrives=150), housings=(brooder(), pen(area_dm2=150)))
    assert largest(problem, 0) == (7, "pen", 28)


def test_a_larger_pen_makes_the_brooder_the_bottleneck():
    problem = farm(batch("far", arrives=150), housings=(brooder(), pen(area_dm2=900)))
    assert largest(problem, 0)[:2] == (10, "brooder")


def test_what_others_take_on_one_day_of_a_stay_is_not_free_on_the_others():
    problem = farm(batch(birds=4), housings=(brooder(), pen()))
    assert largest(problem, 14)[0] == 6


def test_where_nothing_is_open_the_cell_says_how_far_the_best_way_gets():
    problem = farm(batch("far", arrives=150), housings=(brooder(), pen(in_service_to=day(20))))
    birds, housing, number = largest(problem, 0)
    assert (birds, number) == (0, 35)
    cell = headroom.fixed(problem, solved(problem, 5), [batch("new")], day(0), 1).cell(0, 0)
    assert (
        str(cell.sentence()) == f"No room for new arriving 12 April: the best way ends on 17 May at {housing}"
    )


def test_no_room_is_said_of_a_housing_that_takes_such_birds():
    # The paddock comes last by key, and is for chickens only.
    rooms = (brooder(in_service_to=day(1)), pen(), pen("top paddock", species=frozenset({"chicken"})))
    problem = farm(batch("far", arrives=150, species="duck"), housings=rooms)
    duck = batch("ducks", species="duck")
    assert largest(problem, 0, duck)[:2] == (0, "brooder")
    cell = headroom.fixed(problem, solved(problem, 5), [duck], day(10), 1).cell(0, 0)
    assert (
        str(cell.sentence())
        == "No room for ducks arriving 22 April: the best way ends on 22 April at brooder"
    )


def test_of_housings_that_end_a_way_on_the_same_day_one_that_suits_the_age_is_named():
    # Grown birds leave the brooders on day 35; only the pen, closed then, could have taken them.
    rooms = (brooder(), pen("a pen", in_service_to=day(20)), brooder("z brooder"))
    problem = farm(batch("far", arrives=150), housings=rooms)
    assert largest(problem, 0) == (0, "a pen", 35)


def test_a_type_no_housing_ever_takes_is_told_so_and_has_no_binding_housing():
    chickens = frozenset({"chicken"})
    rooms = (brooder(species=chickens), pen(species=chickens))
    problem = farm(batch("far", arrives=150), housings=rooms)
    cell = headroom.fixed(problem, solved(problem, 5), [batch("ducks", species="duck")], day(3), 2).cell(0, 1)
    assert (cell.birds, cell.housing.key, cell.day, cell.unserved) == (0, "", day(4), 0)
    assert str(cell.sentence()) == "No housing of the farm ever takes ducks"


def test_an_age_no_housing_takes_is_named_where_the_birds_live_to_see_it():
    rooms = (brooder(), pen(species=frozenset({"chicken"})))
    problem = farm(batch("far", arrives=150), housings=rooms)
    kinds = [batch("ducks", species="duck"), batch("ducklings", species="duck", leave_age_days=35)]
    table = headroom.fixed(problem, solved(problem, 5), kinds, day(0), 1)
    old, young = table.cell(0, 0), table.cell(1, 0)
    assert (old.birds, old.housing.key, old.unserved, young.unserved) == (0, "brooder", 35, None)
    assert str(old.sentence()) == "No housing of the farm takes ducks at 35 days of age"
    assert young.birds == 5


def test_the_sentence_names_the_birds_the_housing_and_the_day():
    problem = farm(batch("far", arrives=150))
    cell = headroom.fixed(problem, solved(problem, 5), [batch("new")], day(0), 1).cell(0, 0)
    assert (
        str(cell.sentence()) == "10 birds (new) fit on 12 April: brooder on 12 April leaves no room for more"
    )


def test_a_housing_for_one_batch_that_is_taken_holds_nobody_else():
    problem = farm(batch(birds=1), housings=(brooder(one_batch=True), pen()))
    assert [largest(problem, number)[0] for number in (14, 27, 35)] == [0, 0, 9]


def test_rest_after_those_who_leave_and_before_those_who_come_is_kept():
    rooms = (brooder(one_batch=True, rest_days=7), pen(area_dm2=900))
    problem = farm(batch(), batch("later", arrives=77), housings=rooms)
    # The first leaves on day 28, the later one comes on day 77: free for a brood from day 35 to 70.
    fits = [number for number in range(29, 77) if largest(problem, number, iterations=5)[0]]
    assert (fits[0], fits[-1]) == (35, 42)


def test_rest_of_birds_long_gone_is_kept():
    problem = farm(
        batch("far", arrives=150),
        housings=(brooder(rest_days=9), pen()),
        left=(Left("brooder", "chicken", day(-3)),),
    )
    assert [largest(problem, number)[0] for number in (5, 6)] == [0, 10]


def test_ages_too_far_apart_do_not_count_as_room():
    problem = farm(batch(birds=1), housings=(brooder(max_age_gap_days=7), pen(area_dm2=900)))
    assert [largest(problem, number)[0] for number in (7, 8)] == [9, 0]


def test_species_parted_while_brooding_count_as_room_once_they_are_grown():
    kind = batch("new", species="duck")
    rooms = (brooder(one_batch=False, area_dm2=900), pen(area_dm2=900))
    problem = farm(batch(birds=1), housings=rooms, apart=(Apart("chicken", "duck", True),))
    assert [largest(problem, number, kind)[0] for number in (27, 28)] == [0, 44]


def test_floor_that_shrinks_for_a_season_is_read_day_by_day():
    problem = farm(
        batch("far", arrives=150),
        housings=(brooder(changes=(Capacity(day(10), 40), Capacity(day(20), 100))), pen()),
    )
    assert [largest(problem, number)[0] for number in (0, 19, 20)] == [4, 4, 10]


def test_edges_bind_like_floor_where_they_are_recorded():
    kind = batch("new", demand=replace(batch().demand, feeder_um=(25_000,) * 84))
    problem = farm(batch("far", arrives=150), housings=(brooder(feeder_mm=120), pen()))
    assert largest(problem, 0, kind)[:2] == (4, "brooder")


def test_survivors_make_room_for_more_and_every_rounding_is_on_the_safe_side():
    # Of 10 birds 7 are left from week 1 on: 14 birds are 10 then, which is all the pen's 200 dm² hold.
    kind = batch(
        "new", survivors=(10, 7), demand=replace(batch().demand, area_mm2=(50_000,) * 28 + (200_000,) * 56)
    )
    assert largest(farm(batch("far", arrives=150)), 0, kind)[0] == 14


def test_a_stay_too_short_to_be_allowed_is_no_way_through():
    rooms = (brooder(), pen("a", in_service_to=day(38)), pen("b", in_service_from=day(38)))
    problem = farm(batch("far", arrives=150), housings=rooms)
    kind = batch("new", stages=stages(brooder_to=30))
    assert largest(problem, 0, kind)[0] == 10
    assert largest(problem, 0, replace(kind, min_stay_days=14))[0] == 0


def test_birds_that_stay_are_judged_to_the_end_of_the_days_asked_about():
    kind = batch("new", leave_age_days=None)
    problem = farm(batch(arrives=100, leave_age_days=None))
    assert largest(problem, 0, kind)[0] == 0
    assert largest(replace(problem, days=60, batches=()), 0, kind)[0] == 10


def test_days_before_the_plan_are_refused():
    problem = farm(batch())
    with pytest.raises(ValueError, match="days of the plan and after"):
        headroom.fixed(problem, solved(problem, 5), [batch("new")], problem.start - timedelta(days=1))


def test_a_year_is_asked_about_in_one_go_beyond_the_end_of_the_plan():
    problem = farm(batch())
    table = headroom.fixed(problem, solved(problem, 5), [batch("new"), batch("small", leave_age_days=20)])
    assert table.birds.shape == (2, 365)
    assert (table.birds[0, 100:] == 10).all()


@given(st.integers(0, 300))
@settings(max_examples=10, deadline=None)
def test_a_year_at_once_says_the_same_as_each_day_alone(number):
    problem = farm(
        batch(), batch("blues", arrives=40, birds=7), housings=(brooder(rest_days=3), pen(area_dm2=300))
    )
    solution = solved(problem, 5)
    year = headroom.fixed(problem, solution, [batch("new")])
    alone = headroom.fixed(problem, solution, [batch("new")], day(number), 1)
    assert (year.birds[0, number], year.row[0, number]) == (alone.birds[0, 0], alone.row[0, 0])
