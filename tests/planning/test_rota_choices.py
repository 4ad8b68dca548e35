"""Who could do what: the hard rules one by one, pins that hold and pins that can't."""

from dataclasses import replace

import pytest
from hypothesis import given, settings

from farm.planning.rota.choices import choices
from tests.planning.rota_world import (
    EVENING,
    MORNING,
    chore,
    day,
    every_rota,
    household,
    lonely,
    person,
    problems,
)

ANN = person("ann", "heat")
BEN = person("ben", adult=False)
MIA = person("mia", child=True)


def may(job, *people, others=(), **more):
    return choices(household(people, [job, *others], **more)).may[job.key]


@pytest.mark.parametrize(
    "who, able", [("adult", ("ann",)), ("helper", ("ann", "ben")), ("child", ("ann", "ben", "mia"))]
)
def test_the_least_experienced_who_may_do_a_chore_is_kept(who, able):
    assert may(chore("feed", who=who), ANN, BEN, MIA) == able


def test_what_a_chore_needs_must_be_among_somebodys_abilities():
    assert may(chore("lamp", needs=frozenset({"heat"})), ANN, BEN) == ("ann",)
    assert may(chore("lamp", needs=frozenset({"heat", "water"})), ANN, BEN) == ()


def test_nobody_has_chores_in_rounds_they_are_not_there_for():
    early = person("cid", rounds=frozenset({(0, MORNING), (1, MORNING)}))
    assert may(chore("feed", 0, MORNING), early) == ("cid",)
    assert may(chore("feed", 0, EVENING), early) == ()
    assert may(chore("feed", 2, MORNING), early) == ()


def test_nobody_has_chores_while_they_are_away_and_has_again_on_the_day_they_are_back():
    away = person("cid", away=((day(1), day(3)),))
    assert [bool(may(chore("feed", at), away)) for at in range(4)] == [True, False, False, True]


def test_a_refused_chore_is_never_theirs():
    assert may(chore("feed", job="clean"), person("cid", refuses=frozenset({"clean"})), BEN) == ("ben",)


def test_a_child_may_be_at_heat_only_where_an_adult_could_be_near():
    hot = chore("lamp", heated=True, room="r1")
    assert may(hot, ANN, MIA) == ("ann",)
    assert may(hot, ANN, MIA, others=[chore("feed", room="r1")]) == ("ann", "mia")
    assert may(hot, ANN, MIA, others=[chore("feed", room="r2")]) == ("ann",)
    assert may(hot, ANN, MIA, others=[chore("feed", 0, EVENING, room="r1")]) == ("ann",)
    assert may(hot, MIA, BEN, others=[chore("feed", room="r1")]) == ("ben",)


def test_of_two_at_heat_one_may_be_a_child():
    assert may(chore("lamp", heated=True, people=2), ANN, BEN, MIA) == ("ann", "ben", "mia")
    assert may(chore("lamp", heated=True, people=2), BEN, MIA) == ("ben",)


def test_chores_without_a_room_are_no_company_for_each_other():
    hot = chore("lamp", heated=True)
    assert may(hot, ANN, MIA, others=[chore("feed")]) == ("ann",)


def test_a_pin_holds_against_absence_and_refusal():
    gone = person("cid", away=((day(0), day(9)),), refuses=frozenset({"feed"}), rounds=frozenset())
    job = chore("feed")
    open_ = choices(household([gone, BEN], [job], pins={job.key: ("cid",)}))
    assert (open_.may[job.key], open_.pinned, open_.dropped) == (("cid",), {job.key: ("cid",)}, ())


@pytest.mark.parametrize(
    "job, pin",
    [
        (chore("feed", who="adult"), ("ben",)),
        (chore("feed", who="helper"), ("mia",)),
        (chore("feed", needs=frozenset({"heat"})), ("ben",)),
        (chore("feed", heated=True), ("mia",)),
        (chore("feed"), ("nobody",)),
        (chore("feed"), ("ann", "ben")),
    ],
)
def test_a_pin_that_breaks_a_rule_of_safety_or_has_no_seat_is_dropped_and_told(job, pin):
    open_ = choices(household([ANN, BEN, MIA], [job], pins={job.key: pin}))
    assert open_.dropped == (job.key,)
    assert pin[-1] not in open_.pinned.get(job.key, ())
    assert open_.fillable[job.key] == 1


def test_a_child_pinned_to_heat_stays_where_an_adult_can_be_near():
    job, other = chore("lamp", heated=True, room="r1"), chore("feed", room="r1")
    open_ = choices(household([ANN, MIA], [job, other], pins={job.key: ("mia",)}))
    assert open_.pinned == {job.key: ("mia",)}
    assert open_.dropped == ()


def test_the_last_seat_from_which_a_child_can_be_watched_is_for_an_adult():
    hot, near = chore("lamp", heated=True, room="r1"), chore("feed", room="r1")
    pins = {hot.key: ("mia",)}
    assert may(near, ANN, BEN, MIA, others=[hot], pins=pins) == ("ann",)
    assert may(near, ANN, BEN, MIA, others=[hot]) == ("ann", "ben", "mia")
    assert may(replace(near, people=2), ANN, BEN, MIA, others=[hot], pins=pins) == ("ann", "ben", "mia")
    assert may(near, ANN, BEN, MIA, others=[hot, chore("water", room="r1")], pins=pins) == (
        "ann",
        "ben",
        "mia",
    )


def test_of_two_children_pinned_to_heat_one_stays_when_the_other_makes_way_for_an_adult():
    job, other = chore("lamp", heated=True, room="r1"), chore("lamps", heated=True, room="r1")
    pins = {job.key: ("mia",), other.key: ("mia",)}
    open_ = choices(household([ANN, MIA], [job, other], pins=pins))
    assert open_.dropped == (job.key,)
    assert open_.pinned == {other.key: ("mia",)}


def test_a_pin_of_a_job_that_is_not_planned_is_nobodys_matter():
    assert choices(household([ANN], [chore("feed")], pins={chore("gone").key: ("ann",)})).dropped == ()


def test_two_of_one_key_are_refused():
    with pytest.raises(ValueError, match="same key"):
        choices(household([ANN, ANN], []))
    with pytest.raises(ValueError, match="same key"):
        choices(household([ANN], [chore("feed"), chore("feed")]))


@given(problems())
@settings(max_examples=50, deadline=None)
def test_the_order_of_people_and_jobs_changes_nothing(problem):
    other = replace(problem, people=problem.people[::-1], jobs=problem.jobs[::-1])
    assert choices(other) == choices(problem)


@given(problems(most_people=3, most_jobs=5))
@settings(max_examples=100, deadline=None)
def test_all_seats_that_can_be_filled_can_be_filled_together(problem):
    """Some full rota leaves no child alone with heat, and so does one with each of those who may have a job on it."""
    open_ = choices(problem)
    sound = [rota for rota in every_rota(problem, open_) if not lonely(problem, rota)]
    assert sound
    for job in problem.jobs:
        for key in open_.may[job.key]:
            assert any(key in rota[job.key] for rota in sound)
