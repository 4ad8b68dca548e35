"""The bill of a rota: every wish by example, and against a second count job by job."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning.rota import Weights, score, targets
from farm.planning.rota.choices import choices
from tests.planning.rota_world import EVENING, chore, daily, day, household, person, problems

ANN, BEN, CID = person("ann"), person("ben"), person("cid")


def bill(problem, *rows):
    """Return the bill when the problem's jobs have these people in order, each a word of keys."""
    return score(problem, given_to(problem, *rows))


def given_to(problem, *rows):
    return {job.key: tuple(row.split()) for job, row in zip(problem.jobs, rows, strict=True)}


def test_every_empty_seat_counts_also_one_nobody_could_have():
    problem = household([ANN, BEN], [chore("a", people=2), chore("b", people=2), chore("c", who="adult")])
    assert bill(problem, "ann ben", "ann", "").unfilled == 2


def test_the_deviation_is_that_of_whoever_is_furthest_from_their_target():
    problem = household([ANN, BEN], daily("feed", 4, minutes=10))
    assert bill(problem, "ann", "ann", "ben", "ben").deviation == 0
    assert bill(problem, "ann", "ann", "ann", "ben").deviation == 10
    assert bill(problem, "ben", "ben", "ben", "ben").deviation == 20


def test_the_deviation_looks_at_done_and_given_together():
    folk = [person("ann", done=20, present_before=2), person("ben", present_before=2)]
    problem = household(folk, daily("feed", 2, minutes=10))
    assert bill(problem, "ben", "ben").deviation == 0
    assert bill(problem, "ann", "ben").deviation == 10


def test_minutes_above_the_wish_are_counted_week_by_week():
    light = person("ann", max_week_minutes=25)
    jobs = daily("feed", 14, minutes=10)
    problem = household([light], jobs)
    assert bill(problem, *["ann"] * 14).over == 2 * (70 - 25)
    # From Sunday on: six days, seven, one.
    assert score(replace(problem, first_weekday=6), given_to(problem, *["ann"] * 14)).over == 35 + 45


def test_what_was_done_before_is_not_held_against_the_weeks_wish():
    problem = household([person("ann", max_week_minutes=25, done=500)], daily("feed", 2, minutes=10))
    assert bill(problem, "ann", "ann").over == 0


def test_each_person_beyond_the_first_in_a_cell_counts():
    jobs = [
        chore("a"),
        chore("b"),
        chore("c"),
        chore("d", 0, EVENING),
        chore("e", group="barn"),
        chore("f", 1),
    ]
    problem = household([ANN, BEN, CID], jobs)
    assert bill(problem, "ann", "ann", "ann", "ben", "cid", "ben").blocks == 0
    assert bill(problem, "ann", "ben", "ann", "ben", "cid", "ben").blocks == 1
    assert bill(problem, "ann", "ben", "cid", "", "", "").blocks == 2


def test_two_at_one_chore_are_two_in_its_cell():
    assert bill(household([ANN, BEN], [chore("a", people=2)]), "ann ben").blocks == 1


def test_a_chore_done_by_others_than_the_time_before_is_a_change():
    problem = household([ANN, BEN], daily("feed", 4))
    assert bill(problem, "ann", "ann", "ann", "ann").changes == 0
    assert bill(problem, "ann", "ben", "ann", "ann").changes == 2
    assert bill(problem, "ann", "", "ann", "ann").changes == 2


def test_morning_and_evening_are_different_chores_and_so_are_two_sources():
    jobs = [chore("feed"), chore("feed", 0, EVENING), chore("water"), chore("feed", 1)]
    problem = household([ANN, BEN], jobs)
    assert bill(problem, "ann", "ben", "ben", "ann").changes == 0
    assert bill(problem, "ann", "ann", "ann", "ben").changes == 1


def test_a_postponed_chore_counts_on_the_day_and_in_the_round_it_is_done():
    late = replace(chore("feed", 0), day=day(2), round=EVENING)
    problem = household([ANN, BEN], [late, chore("feed", 1, EVENING), chore("feed", 1)])
    assert bill(problem, "ann", "ben", "ann").changes == 1


def test_one_of_two_exchanged_is_one_change_and_the_order_of_two_is_none():
    problem = household([ANN, BEN, CID], daily("catch", 2, people=2))
    assert bill(problem, "ann ben", "ben ann").changes == 0
    assert bill(problem, "ann ben", "ann cid").changes == 1


def test_a_chore_somebody_would_like_and_another_has_is_unliked():
    fond = person("ann", prefers=frozenset({"eggs"}))
    also = person("cid", prefers=frozenset({"eggs"}))
    problem = household([fond, BEN, also], [chore("a", job="eggs"), chore("b")])
    assert [bill(problem, who, "ben").unliked for who in ("ann", "cid", "ben", "")] == [0, 0, 1, 1]


def test_who_could_not_have_it_does_not_miss_it():
    fond = person("ann", prefers=frozenset({"eggs"}), away=((day(0), day(1)),))
    assert bill(household([fond, BEN], [chore("a", job="eggs")]), "ben").unliked == 0


def test_a_cell_with_others_than_before_is_touched_once():
    jobs = [chore("a"), chore("b"), chore("c", 1), chore("d", 2)]
    previous = {jobs[0].key: ("ann",), jobs[1].key: ("ben",), jobs[2].key: ("ann",), jobs[3].key: ()}
    problem = household([ANN, BEN, CID], jobs, previous=previous)
    assert bill(problem, "ann", "ben", "ann", "cid").touched == 0
    assert bill(problem, "ben", "ann", "ann", "cid").touched == 0
    assert bill(problem, "ann", "ann", "ben", "cid").touched == 2
    assert bill(problem, "cid", "cid", "ann", "ann").touched == 1


def test_a_cell_of_somebody_who_left_is_touched_whoever_has_it_now():
    job = chore("a")
    assert bill(household([ANN], [job], previous={job.key: ("gone",)}), "ann").touched == 1


def test_the_cost_is_each_count_times_its_weight():
    weights = Weights(1000, 1, 0.5, 100, 10, 10_000, 100_000)
    fond = person("ann", max_week_minutes=0, prefers=frozenset({"eggs"}))
    jobs = [chore("a", job="eggs"), chore("b", minutes=30), chore("c", people=2), chore("a", 1)]
    problem = household([fond, BEN], jobs, previous={jobs[3].key: ("ben",)}, weights=weights)
    found = bill(problem, "ben", "ann", "ben", "ann")
    assert (found.unfilled, found.over, found.blocks, found.changes) == (1, 40, 1, 1)
    assert (found.unliked, found.touched) == (1, 1)
    assert found.cost == 1000 + found.deviation + 20 + 100 + 10 + 10_000 + 100_000


def test_somebody_the_problem_does_not_have_is_refused():
    with pytest.raises(KeyError):
        bill(household([ANN], [chore("a")]), "bob")


def test_what_is_no_job_of_the_problem_counts_nothing():
    problem = household([ANN], [chore("a")])
    more = {chore("a").key: ("ann",), chore("z").key: ("bob",)}
    assert score(problem, more) == bill(problem, "ann")


@given(problems(), st.data())
@settings(max_examples=80, deadline=None)
def test_the_bill_is_that_of_a_second_count(problem, data):
    keys = [one.key for one in problem.people]
    some = st.lists(st.sampled_from(keys), max_size=2, unique=True).map(tuple)
    assigned = {job.key: data.draw(some) for job in problem.jobs}
    found = score(problem, assigned)
    assert (found.unfilled, found.over, found.blocks, found.changes, found.unliked, found.touched) == counted(
        problem, assigned
    )
    goals = targets(problem)
    assert found.deviation == max(
        abs(
            one.done
            + sum(job.minutes for job in problem.jobs if one.key in assigned[job.key])
            - goals[one.key]
        )
        for one in problem.people
    )


def counted(problem, assigned):
    jobs = sorted(problem.jobs, key=lambda job: (job.day, job.key))
    cells = {job.cell for job in jobs}

    def of_cell(who, cell):
        return {key for job in jobs if job.cell == cell for key in who.get(job.key, ())}

    unfilled = sum(max(job.people - len(assigned[job.key]), 0) for job in jobs)
    over = 0
    for one in problem.people:
        for start in (day(at) for at in range(-7, 8) if day(at).weekday() == problem.first_weekday):
            week = [job for job in jobs if start <= job.day < start + timedelta(days=7)]
            given = sum(job.minutes for job in week if one.key in assigned[job.key])
            over += max(given - (10**6 if one.max_week_minutes is None else one.max_week_minutes), 0)
    blocks = sum(len(of_cell(assigned, cell)) for cell in cells)
    blocks -= sum(1 for cell in cells if of_cell(assigned, cell))
    changes = 0
    for at, job in enumerate(jobs):
        before = [other for other in jobs[:at] if (other.key[0], other.round) == (job.key[0], job.round)]
        changes += bool(before) and set(assigned[before[-1].key]) != set(assigned[job.key])
    fond = {one.key: one.prefers for one in problem.people}
    may = choices(problem).may
    unliked = sum(
        any(job.job in fond[key] for key in may[job.key])
        and all(job.job not in fond[key] for key in assigned[job.key])
        for job in jobs
    )
    old = problem.previous
    touched = sum(1 for cell in cells if of_cell(old, cell) and of_cell(old, cell) != of_cell(assigned, cell))
    return unfilled, over, blocks, changes, unliked, touched
