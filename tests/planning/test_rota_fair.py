"""Fair parts of the work: by days present, by share, and as even as the rules allow."""

from dataclasses import replace
from fractions import Fraction
from itertools import combinations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.planning.rota import targets
from farm.planning.rota.choices import choices
from farm.planning.rota.cut import heaviest, only_theirs
from farm.planning.rota.fair import fair
from tests.planning.rota_world import EVENING, chore, daily, day, household, person, problems


def test_who_is_always_there_gets_an_equal_part():
    problem = household([person("ann"), person("ben")], daily("feed", 4, minutes=10))
    assert targets(problem) == {"ann": 20, "ben": 20}


def test_half_a_share_is_half_the_work():
    problem = household([person("ann"), person("ben", share=0.5)], daily("feed", 6, minutes=10))
    assert targets(problem) == {"ann": 40, "ben": 20}


def test_absence_lowers_the_target():
    away = person("ben", away=((day(1), day(3)),))
    problem = household([person("ann"), away], daily("feed", 4, minutes=15))
    assert targets(problem) == {"ann": 40, "ben": 20}


@given(problems(), st.integers(0, 3), st.integers(1, 4))
@settings(max_examples=50, deadline=None)
def test_who_goes_away_never_has_more_to_do_than_before(problem, start, length):
    cold = tuple(
        replace(job, heated=False) for job in problem.jobs
    )  # else who is away leaves children unwatched
    problem = replace(problem, pins={}, jobs=cold)
    gone = replace(problem.people[0], away=((day(start), day(start + length)),))
    after = replace(problem, people=(gone, *problem.people[1:]))
    before = replace(problem, people=(replace(gone, away=()), *problem.people[1:]))
    assert targets(after)[gone.key] <= targets(before)[gone.key] + 1e-9


def test_what_was_done_before_counts_with_the_days_it_was_done_on():
    ann, ben = person("ann", done=30, present_before=2), person("ben", present_before=2)
    problem = household([ann, ben], daily("feed", 3, minutes=10))
    assert targets(problem) == {"ann": 30, "ben": 30}


def test_who_came_only_now_has_nothing_to_make_up_for():
    ann, ben = person("ann", done=60, present_before=4), person("ben", present_before=0)
    problem = household([ann, ben], daily("feed", 4, minutes=15))
    assert targets(problem) == {"ann": 80, "ben": 40}


def test_who_has_done_too_much_already_keeps_it_and_the_rest_is_shared_by_the_others():
    folk = [person("ann", done=100, present_before=1), person("ben"), person("cid")]
    problem = household(folk, daily("feed", 2, minutes=20))
    assert targets(problem) == {"ann": 100, "ben": 20, "cid": 20}


def test_who_can_be_given_little_gets_that_and_the_others_share_the_rest():
    evenings = person("ben", rounds=frozenset((weekday, EVENING) for weekday in range(7)))
    jobs = [*daily("feed", 4, minutes=20), chore("shut", 0, EVENING, minutes=6)]
    assert targets(household([person("ann"), evenings, person("cid")], jobs)) == {
        "ann": 40,
        "ben": 6,
        "cid": 40,
    }


def test_work_only_two_can_do_is_shared_by_the_two_and_the_rest_by_the_others():
    folk = [person("ann", "dosing"), person("ben", "dosing"), person("cid"), person("dan")]
    jobs = [*daily("dose", 4, minutes=30, needs=frozenset({"dosing"})), *daily("feed", 4, minutes=10)]
    assert targets(household(folk, jobs)) == {"ann": 60, "ben": 60, "cid": 20, "dan": 20}


def test_two_at_one_chore_have_its_minutes_each():
    problem = household(
        [person("ann"), person("ben"), person("cid")], daily("catch", 3, minutes=15, people=2)
    )
    assert targets(problem) == {"ann": 30, "ben": 30, "cid": 30}


def test_a_seat_nobody_can_take_is_nobodys_target():
    problem = household([person("ann")], daily("catch", 2, minutes=15, people=2))
    assert targets(problem) == {"ann": 30}


def test_a_pin_is_work_that_only_the_pinned_can_do():
    jobs = daily("feed", 4, minutes=10)
    pins = {job.key: ("ann",) for job in jobs[:3]}
    assert targets(household([person("ann"), person("ben")], jobs, pins=pins)) == {"ann": 30, "ben": 10}


def test_who_has_no_share_gets_only_what_nobody_else_can_do():
    folk = [person("ann", "heat", share=0.0), person("ben")]
    jobs = [*daily("feed", 2, minutes=10), chore("lamp", minutes=7, needs=frozenset({"heat"}))]
    assert targets(household(folk, jobs)) == {"ann": 7, "ben": 20}


def test_where_nobody_has_a_share_the_work_is_shared_all_the_same():
    problem = household([person("ann", share=0.0), person("ben", share=0.0)], daily("feed", 2, minutes=9))
    assert targets(problem) == {"ann": 9, "ben": 9}


def test_a_farm_without_people_or_jobs_has_no_targets_to_speak_of():
    assert targets(household([], daily("feed", 2))) == {}
    assert targets(household([person("ann", done=5)], [])) == {"ann": 5}


@given(problems())
@settings(max_examples=50, deadline=None)
def test_targets_are_all_the_minutes_and_within_everybodys_reach(problem):
    open_, found = choices(problem), targets(problem)
    total = sum(one.done for one in problem.people)
    total += sum(job.minutes * open_.fillable[job.key] for job in problem.jobs)
    assert sum(found.values()) == pytest.approx(total)
    for one in problem.people:
        most = one.done + sum(job.minutes for job in problem.jobs if one.key in open_.may[job.key])
        assert one.done - 1e-9 <= found[one.key] <= most + 1e-9


def least(problem, open_, few):
    """Return the minutes these people can't be spared: done, pinned on them, or seats that nobody else can take."""
    must = sum(one.done for one in problem.people if one.key in few)
    for job in problem.jobs:
        pinned = set(open_.pinned.get(job.key, ()))
        others = set(open_.may[job.key]) - pinned - set(few)
        free = open_.fillable[job.key] - len(pinned)
        must += job.minutes * (len(pinned & set(few)) + max(0, free - len(others)))
    return must


@given(problems())
@settings(max_examples=50, deadline=None)
def test_nobody_could_be_evened_out_by_one_chore(problem):
    """Where somebody could take work from somebody with more for their weight, that one does only what they must."""
    open_ = choices(problem)
    parts = fair(problem, open_)
    keys = [one.key for one in problem.people]
    for size in range(1, len(keys) + 1):
        for few in combinations(keys, size):
            assert sum(parts.targets[key] for key in few) >= least(problem, open_, few) - 1e-6
    weightless = [key for key in keys if parts.level[key] is None]
    assert sum(parts.targets[key] for key in weightless) == pytest.approx(least(problem, open_, weightless))
    for level in {level for level in parts.level.values() if level is not None}:
        high = [key for key in keys if parts.level[key] is None or parts.level[key] >= level]
        assert sum(parts.targets[key] for key in high) == pytest.approx(least(problem, open_, high))


works = st.dictionaries(
    st.integers(1, 31).flatmap(lambda can: st.tuples(st.just(can), st.integers(1, min(2, can.bit_count())))),
    st.integers(1, 60),
    max_size=12,
)


@given(works, st.lists(st.integers(1, 9), min_size=5, max_size=5))
@settings(max_examples=80, deadline=None)
def test_the_smallest_cut_finds_the_heaviest_of_all_groups(work, weighs):
    weights = {1 << at: weigh for at, weigh in enumerate(weighs)}
    people, load = heaviest(work, weights)
    by_hand = {
        group: Fraction(
            sum(
                minutes * max(0, seats - len([bit for bit in weights if bit & can and not bit & group]))
                for (can, seats), minutes in work.items()
            ),
            sum(weigh for bit, weigh in weights.items() if bit & group),
        )
        for group in range(1, 32)
    }
    assert load == max(by_hand.values()) == by_hand[people]
    assert only_theirs(work, people) == load * sum(weights[bit] for bit in weights if bit & people)


def test_nobody_there_in_any_round_has_no_weight():
    problem = household([person("ann"), person("ben", rounds=frozenset())], daily("feed", 2, minutes=10))
    assert fair(problem, choices(problem)).weight == {"ann": 2000, "ben": 0}
