"""The judge finds each fault a plan can have: a sound plan with one thing wrong is charged with that one fault."""

from dataclasses import replace

import pytest

from farm.planning import plan_check
from farm.planning.problem import Apart, Arrival, Left, PartSize
from farm.planning.solution import BatchPlan, PlanPart, Solution
from tests.planning.plan_world import batch, brooder, day, farm, past, pen, pin, plan, stay

GOOD = plan(stay("brooder", 0, 28), stay("pen", 28, 70))
WIDE = (brooder(area_dm2=400), pen(area_dm2=900))


def faults(problem, *plans):
    return plan_check.faults(problem, Solution(problem.digest, plans, 0, 0))


def kinds(problem, *plans):
    return sorted({fault.kind for fault in faults(problem, *plans)})


def two(second="two", **changes):
    """A farm with two batches, the second a little different."""
    return farm(batch("one"), batch(second, **changes), housings=WIDE)


def both(*stays, arrives=0):
    later = tuple(stays) or (stay("brooder", arrives, arrives + 28), stay("pen", arrives + 28, arrives + 70))
    return replace(GOOD, batch="one"), plan(*later, batch="two", arrives=arrives)


def test_a_sound_plan_has_no_faults():
    assert faults(farm(batch()), GOOD) == ()


def test_a_plan_of_another_problem_is_no_plan():
    other = Solution(farm(batch(), days=5).digest, (GOOD,), 0, 0)
    assert [fault.kind for fault in plan_check.faults(farm(batch()), other)] == ["problem"]


@pytest.mark.parametrize(
    "kind, plans",
    [
        ("missing", ()),
        ("missing", (GOOD, GOOD)),
        ("unknown", (GOOD, replace(GOOD, batch="ghosts"))),
        ("unknown", (plan(stay("barn", 0, 28), stay("pen", 28, 70)),)),
        ("arrival", (plan(stay("brooder", 1, 28), stay("pen", 28, 71), arrives=1),)),
        ("parts", (plan(stay("brooder", 0, 28), stay("pen", 28, 70), birds=9),)),
        ("parts", (BatchPlan("reds", day(0), tuple(PlanPart(key, 5, GOOD.parts[0].stays) for key in "12")),)),
        ("chain", (plan(stay("brooder", 0, 28), stay("pen", 29, 70)),)),
        ("chain", (plan(stay("brooder", 0, 29), stay("pen", 28, 70)),)),
        ("chain", (plan(stay("brooder", 0, 28), stay("pen", 28, 69)),)),
        ("chain", (plan(stay("brooder", 1, 28), stay("pen", 28, 70)),)),
        ("chain", (plan(),)),
    ],
)
def test_what_is_no_plan_at_all_is_said_so(kind, plans):
    assert kinds(farm(batch()), *plans) == [kind]


@pytest.mark.parametrize(
    "kind, changes, housings",
    [
        ("forbidden", {"forbidden": frozenset({"pen"})}, WIDE),
        ("species", {}, (brooder(), pen(species=frozenset({"duck"})))),
        ("service", {}, (brooder(), pen(in_service_from=day(29)))),
        ("service", {}, (brooder(), pen(in_service_to=day(69)))),
        ("outdoors", {"outdoors_age_days": 29}, (brooder(), pen(indoor=False))),
        ("outdoors", {"outdoors_from": day(29)}, (brooder(), pen(indoor=False))),
        ("heat", {"demand": replace(batch().demand, heat=(True,) * 30 + (False,) * 54)}, WIDE),
        ("short_stay", {"min_stay_days": 43}, WIDE),
    ],
)
def test_a_housing_that_does_not_suit_is_found(kind, changes, housings):
    assert kinds(farm(batch(**changes), housings=housings), GOOD) == [kind]


def test_an_age_no_stage_allows_is_found_on_its_days():
    late = plan(stay("brooder", 0, 37), stay("pen", 37, 70))
    found = faults(farm(batch()), late)
    assert [(fault.kind, fault.start) for fault in found] == [("kind", day(35)), ("kind", day(36))]


def test_company_a_housing_forbids_is_found():
    assert kinds(two(), *both()) == []
    alone = replace(two(), housings=(brooder(one_batch=True), pen()))
    assert kinds(alone, *both()) == ["one_batch"]


def test_the_allowed_age_gap_is_allowed_and_a_day_more_is_not():
    near = replace(two(arrival=Arrival(day(7))), housings=(brooder(max_age_gap_days=7), pen()))
    far = replace(two(arrival=Arrival(day(8))), housings=(brooder(max_age_gap_days=7), pen()))
    assert kinds(near, *both(arrives=7)) == []
    assert kinds(far, *both(arrives=8)) == ["age_gap"]


def test_species_kept_apart_are_found_together():
    ducks = replace(two(species="duck"), apart=(Apart("chicken", "duck"),))
    assert kinds(ducks, *both()) == ["apart"]


def test_a_rule_for_brooding_ends_with_the_heat():
    ducks = replace(two(species="duck"), apart=(Apart("duck", "chicken", brooding_only=True),))
    assert {fault.end <= day(28) for fault in faults(ducks, *both())} == {True}


def test_rest_is_due_until_its_last_day():
    enough = replace(two(arrival=Arrival(day(31))), housings=(brooder(rest_days=3), pen()))
    short = replace(two(arrival=Arrival(day(30))), housings=(brooder(rest_days=3), pen()))
    assert kinds(enough, *both(arrives=31)) == []
    assert [(one.kind, one.start, one.end) for one in faults(short, *both(arrives=30))] == [
        ("rest", day(30), day(31))
    ]


def test_rest_after_birds_long_gone_is_due_too():
    problem = farm(batch(), housings=(brooder(rest_days=3), pen()), left=(Left("brooder", "duck", day(-2)),))
    assert kinds(problem, GOOD) == ["rest"]


def test_a_changed_past_is_found():
    here = farm(batch(arrival=Arrival(day(-7)), history=(past("brooder", -7, 3),)))
    assert kinds(here, plan(stay("pen", 0, 63), arrives=-7)) == ["heat", "kind", "past"]


def test_a_pin_that_could_be_kept_is_a_fault_and_not_forced():
    (fault,) = faults(farm(batch(), pins=(pin("pen", 20, 30),)), GOOD)
    assert (fault.kind, fault.start, fault.end, fault.forced) == ("pin", day(20), day(28), False)


def test_what_a_pin_breaks_is_forced():
    early = plan(stay("brooder", 0, 26), stay("pen", 26, 70))
    found = faults(farm(batch(), pins=(pin("pen", 26, 28),)), early)
    assert {(fault.kind, fault.forced) for fault in found} == {("kind", True), ("heat", True)}


def test_parts_that_are_fixed_keep_their_birds():
    here = farm(batch(parts=(PartSize("a", 6), PartSize("b", 4))))
    wrong = tuple(PlanPart(key, 5, GOOD.parts[0].stays) for key in "ab")
    assert kinds(here, BatchPlan("reds", day(0), wrong)) == ["parts"]
