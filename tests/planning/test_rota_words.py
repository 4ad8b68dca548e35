"""What is told about a rota: loads and what keeps somebody from their part, empty seats, what changes."""

from dataclasses import replace

import pytest
from hypothesis import given, settings

from farm.planning.rota import compare, loads, score, solve, unfilled
from farm.planning.rota.choices import choices
from tests.planning.rota_world import (
    ALWAYS,
    EVENING,
    MORNING,
    chore,
    daily,
    day,
    household,
    person,
    problems,
)

HEAT = frozenset({"heat"})
ANN = person("ann", "heat")
BEN = person("ben", adult=False)
MIA = person("mia", child=True)


def whys(problem):
    """Return what keeps whom from their part."""
    found = loads(problem, solve(problem, steps=0).assigned)
    return {load.person: str(load.why) for load in found if load.why is not None}


def test_a_load_tells_target_done_given_and_the_most_there_is():
    folk = [person("ann", done=10, present_before=1), person("ben", refuses=frozenset({"clean"}))]
    jobs = [chore("a", minutes=10), chore("b", minutes=15, job="clean"), chore("c", 1, minutes=5, people=2)]
    assigned = {jobs[0].key: ("ben",), jobs[1].key: ("ann",), jobs[2].key: ("ann", "ben")}
    ann, ben = loads(household(folk, jobs), assigned)
    assert (ann.person, ann.done, ann.assigned, ann.reachable) == ("ann", 10, 20, 40)
    assert (ben.person, ben.done, ben.assigned, ben.reachable) == ("ben", 0, 15, 15)
    assert ann.target + ben.target == 45


def test_loads_come_in_the_order_of_the_people():
    assert [load.person for load in loads(household([MIA, ANN], []), {})] == ["mia", "ann"]


def test_where_all_can_be_treated_alike_nothing_keeps_anybody():
    assert whys(household([ANN, BEN], daily("feed", 4))) == {}


@pytest.mark.parametrize(
    "more, why",
    [
        (
            {"rounds": frozenset((weekday, EVENING) for weekday in range(7))},
            "they aren't there for more of the rounds.",
        ),
        ({"refuses": frozenset({"feed"})}, "the others are chores they are never to have."),
    ],
)
def test_who_can_be_given_little_hears_why(more, why):
    jobs = [*daily("feed", 3, minutes=30), chore("x", 0, EVENING, minutes=1, job="clean")]
    found = whys(household([ANN, replace(BEN, **more), person("cid")], jobs))
    assert list(found) == ["ben"]
    assert found["ben"].startswith("Ben can be given ")
    assert found["ben"].endswith(why)


def test_a_child_hears_that_the_other_chores_are_not_for_them():
    jobs = [*daily("dose", 3, minutes=30, who="adult"), chore("x", minutes=1)]
    assert whys(household([ANN, person("cid"), MIA], jobs)) == {
        "mia": "Mia can be given 1 min, a fair part would be 45 min: they may not do the other chores."
    }


def test_a_child_hears_that_nobody_is_near_where_heat_is_on():
    jobs = [*daily("lamp", 3, minutes=30, heated=True), chore("x", minutes=1)]
    assert whys(household([ANN, person("cid"), MIA], jobs))["mia"].endswith(
        "no adult is near where heat is on."
    )


def test_who_has_done_enough_hears_that():
    folk = [person("ann", done=100, present_before=1), BEN, person("cid")]
    assert whys(household(folk, daily("feed", 2, minutes=20))) == {
        "ann": "Ann has done 100 min already, a fair part would be 30 min."
    }


def test_who_alone_can_do_much_hears_that():
    jobs = [*daily("lamp", 3, minutes=50, needs=HEAT), *daily("feed", 3, minutes=10)]
    assert list(whys(household([ANN, BEN, person("cid")], jobs)).values()) == [
        "Ann gets 150 min, a fair part would be 15 min: too much of the work can't be given to others."
    ]


def test_who_has_no_part_hears_what_falls_to_them_all_the_same():
    jobs = [chore("lamp", minutes=7, needs=HEAT), chore("feed", minutes=5)]
    assert whys(household([replace(ANN, share=0.0), BEN], jobs)) == {
        "ann": "Ann has no part in the work, but 7 min of it can't be given to others."
    }


def empty(job, *people, others=(), **more):
    """Return why a job stays empty and what would fill it."""
    problem = household(people, [job, *others], **more)
    (found,) = [each for each in unfilled(problem, solve(problem, steps=0).assigned) if each.key == job.key]
    return str(found.reason), [str(way) for way in found.would_fill]


def test_a_full_rota_has_nothing_unfilled():
    problem = household([ANN], daily("feed", 2))
    assert unfilled(problem, solve(problem).assigned) == ()


def test_a_chore_nobody_has_been_given_names_who_could():
    job = chore("feed")
    (found,) = unfilled(household([ANN, BEN], [job]), {})
    assert (found.missing, str(found.reason)) == (1, "Nobody has been given it.")
    assert [str(way) for way in found.would_fill] == ["Ann could.", "Ben could."]


def test_what_nobody_may_do_somebody_could_learn():
    job = chore("dose", who="adult", needs=frozenset({"dosing"}))
    assert empty(job, ANN, BEN, MIA) == (
        "Nobody here may dose medicine.",
        ["Ann could, once they have learned to dose medicine."],
    )


def test_a_chore_for_adults_asks_for_another_adult():
    assert empty(chore("dose", who="adult"), BEN, MIA) == (
        "Nobody here is an adult.",
        ["Another adult could."],
    )
    assert empty(chore("catch", who="helper"), MIA)[0] == "Nobody here is old enough."


def test_what_takes_two_abilities_nobody_has_together():
    job = chore("x", needs=frozenset({"heat", "water"}))
    assert empty(job, ANN, person("ben", "water"))[0] == "Nobody here may do all it takes."


def test_who_is_not_there_could_if_they_were():
    job = chore("shut", 1, EVENING)
    cid = person("cid", away=((day(0), day(4)),))
    ben = replace(BEN, rounds=ALWAYS - {(1, EVENING)})
    both = person("dan", rounds=frozenset(), refuses=frozenset({"feed"}))
    assert empty(job, ben, both, cid) == (
        "Nobody who may do it is there on 5 May in the evening.",
        [
            "Ben could, if they were there on 5 May in the evening.",
            "Cid could, if they were not away on 5 May.",
        ],
    )


def test_who_is_never_to_have_it_could_if_they_were_let():
    assert empty(chore("feed"), replace(BEN, refuses=frozenset({"feed"}))) == (
        "Whoever may do it and is there on 4 May in the morning is never to have this chore.",
        ["Ben could, if this chore were not one they are never to have."],
    )


def test_a_child_could_do_it_with_an_adult_near():
    assert empty(chore("lamp", heated=True), MIA) == (
        "Heat is on, and no adult is near on 4 May in the morning.",
        ["Mia could, if an adult had something to do there on 4 May in the morning."],
    )


def test_a_second_pair_of_hands_is_missed_by_itself():
    job = chore("lift", people=2, needs=HEAT)
    assert empty(job, ANN, BEN) == (
        "A second pair of hands is missing. Apart from the first: Nobody here may handle heat equipment.",
        ["Ben could, once they may handle heat equipment."],
    )


def test_nobody_at_all():
    assert empty(chore("feed")) == ("Nobody is here.", ["Somebody else could."])


@given(problems())
@settings(max_examples=50, deadline=None)
def test_every_empty_seat_is_told_with_something_that_would_fill_it(problem):
    answer = solve(problem, steps=50)
    found = unfilled(problem, answer.assigned)
    assert sum(each.missing for each in found) == answer.bill.unfilled
    for each in found:
        assert str(each.reason)
        assert 1 <= len([str(way) for way in each.would_fill]) <= 4
    assert all(str(load.why) for load in loads(problem, answer.assigned))


@given(problems())
@settings(max_examples=50, deadline=None)
def test_the_first_way_told_really_fills_the_seat(problem):
    """Whoever could if they were there, back, or let, can once they are."""
    problem = replace(problem, pins={})
    assigned = solve(problem, steps=0).assigned
    for each in unfilled(problem, assigned):
        (job,) = [job for job in problem.jobs if job.key == each.key]
        for way in each.would_fill:
            changed = [
                freed(one, job, str(way)) if str(way).startswith(one.name) else one for one in problem.people
            ]
            if changed != list(problem.people) and not job.heated:
                after = choices(replace(problem, people=tuple(changed)))
                assert after.fillable[job.key] > len(assigned[job.key])


def freed(one, job, way):
    if "if they were there" in way:
        return replace(one, rounds=ALWAYS)
    if "not away" in way:
        return replace(one, away=())
    if "never to have" in way:
        return replace(one, refuses=frozenset())
    return replace(one, abilities=one.abilities | job.needs) if "once they" in way else one


def test_what_changes_is_told_by_day_round_and_group():
    jobs = [chore("a", minutes=5), chore("b", minutes=7), chore("c", 1), chore("d", 0, EVENING)]
    before = {job.key: ("ann",) for job in jobs}
    after = {**before, jobs[1].key: ("ben",), jobs[3].key: ()}
    one, other = compare(before, after, jobs)
    assert (one.day, one.round, one.group, one.before, one.after) == (day(0), EVENING, "yard", ("ann",), ())
    assert (other.round, other.before, other.after, other.minutes) == (MORNING, ("ann",), ("ann", "ben"), 12)


def test_who_does_which_chore_of_a_cell_is_no_change():
    jobs = [chore("a"), chore("b")]
    before = {jobs[0].key: ("ann",), jobs[1].key: ("ben",)}
    assert compare(before, {jobs[0].key: ("ben",), jobs[1].key: ("ann",)}, jobs) == ()


@given(problems())
@settings(max_examples=50, deadline=None)
def test_cells_that_change_are_those_the_bill_counts_as_touched(problem):
    assigned = solve(problem, steps=50).assigned
    had = {job.cell for job in problem.jobs if problem.previous.get(job.key)}
    changed = {
        (each.day, each.round, each.group) for each in compare(problem.previous, assigned, problem.jobs)
    }
    assert len(changed & had) == score(problem, assigned).touched
