"""What no rota can cost less than: each part by example, and never above the best of all rotas."""

from hypothesis import given, settings

from farm.planning.rota import Weights, lower_bound, solve
from tests.planning.rota_world import MORNING, cheapest, chore, daily, day, household, person, problems

ANN, BEN = person("ann"), person("ben")


def bound(people, jobs, weight, **more):
    """Return the bound where one wish alone weighs, 1 each."""
    weights = Weights(**{**dict.fromkeys(Weights.__dataclass_fields__, 0.0), weight: 1.0})
    return lower_bound(household(people, jobs, weights=weights, **more))


def test_seats_nobody_can_take_are_sure():
    jobs = [chore("a", needs=frozenset({"heat"})), chore("b", people=2), chore("c")]
    assert bound([ANN], jobs, "unfilled") == 2


def test_whole_chores_cannot_be_split_to_the_minute():
    assert round(bound([ANN, BEN], daily("feed", 3, minutes=10), "deviation"), 6) == 5
    assert bound([ANN, BEN], daily("feed", 4, minutes=10), "deviation") == 0


def test_more_work_than_all_together_want_is_sure():
    light = [person("ann", max_week_minutes=20), person("ben", max_week_minutes=20)]
    assert bound(light, daily("feed", 7, minutes=10), "over") == 30
    assert bound([*light, person("cid")], daily("feed", 7, minutes=10), "over") == 0


def test_work_only_one_can_do_is_above_their_wish_whatever_the_others_want():
    folk = [person("ann", "heat", max_week_minutes=15), BEN]
    assert bound(folk, daily("lamp", 3, minutes=10, needs=frozenset({"heat"})), "over") == 15


def test_a_cell_that_nobody_can_do_alone_takes_more():
    folk = [person("ann", "heat"), person("ben", "water"), person("cid", "lifting"), person("dan", "dosing")]
    needs = ("heat", "water", "lifting", "dosing")
    jobs = [chore(need, needs=frozenset({need})) for need in needs]
    assert [bound(folk, jobs[:many], "block") for many in (1, 2, 3, 4)] == [0, 1, 2, 3]
    assert bound([ANN, BEN], [chore("a", people=2), chore("b")], "block") == 1


def test_a_chore_whose_people_cannot_stay_the_same_changes():
    early = person("ann", rounds=frozenset({(0, MORNING), (1, MORNING)}))
    late = person("ben", rounds=frozenset({(2, MORNING), (3, MORNING)}))
    assert bound([early, late], daily("feed", 4), "change") == 1
    assert bound([early, late, person("cid")], daily("feed", 4), "change") == 0
    jobs = daily("feed", 3)
    pins = {jobs[0].key: ("ann",), jobs[2].key: ("ben",)}
    assert bound([ANN, BEN], jobs, "change", pins=pins) == 1


def test_a_cell_of_somebody_who_is_away_is_touched():
    jobs = daily("feed", 3)
    previous = {job.key: ("ann",) for job in jobs}
    assert bound([person("ann", away=((day(1), day(2)),)), BEN], jobs, "touched", previous=previous) == 1
    assert bound([BEN], jobs, "touched", previous=previous) == 3


@given(problems(most_people=3, most_jobs=6))
@settings(max_examples=50, deadline=None)
def test_no_rota_costs_less_than_the_bound(problem):
    best = cheapest(problem)
    answer = solve(problem, steps=400)
    assert answer.bound == lower_bound(problem) <= best + 1e-9
    assert answer.bound <= answer.bill.cost + 1e-9
    assert answer.gap >= 0
    assert answer.proved == (answer.gap == 0)


def test_a_rota_that_costs_no_more_than_the_bound_is_proved():
    answer = solve(household([ANN, BEN], daily("feed", 3, minutes=10)), steps=500)
    assert answer.bill.deviation == 5
    assert not answer.proved
    answer = solve(household([ANN, BEN], [chore("a", minutes=10)]), steps=500)
    assert (answer.bill.deviation, answer.gap, answer.proved) == (5, 0, True)
