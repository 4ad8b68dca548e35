"""The judge of rotas: nothing wrong with a sound one, and every single fault put in is found."""

from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from farm.planning.rota import check, solve
from tests.planning.rota_world import ALWAYS, EVENING, chore, day, household, lonely, person, problems

ANN = person("ann", "heat")
BEN = person("ben", adult=False)
MIA = person("mia", child=True)
FOLK = (ANN, BEN, MIA)


def said(job, *keys, people=FOLK, others=(), beside=(), **more):
    """Return what is wrong when these have the job, and `beside` the other jobs."""
    assigned = {job.key: keys, **{other.key: beside for other in others}}
    return [str(fault) for fault in check(household(people, [job, *others], **more), assigned)]


def test_a_sound_rota_has_no_fault_and_neither_has_an_empty_one():
    assert said(chore("Feed"), "mia") == said(chore("Feed")) == []


@pytest.mark.parametrize(
    "job, key, fault",
    [
        (chore("Dose", who="adult"), "ben", "Dose on 4 May takes an adult, not Ben."),
        (chore("Dose", who="helper"), "mia", "Dose on 4 May is not for a child like Mia."),
        (chore("Lamp", needs=frozenset({"heat"})), "ben", "Ben may not do Lamp on 4 May."),
        (chore("Lamp", heated=True), "mia", "Mia would be alone with heat equipment at Lamp on 4 May."),
        (chore("Feed"), "bob", "Feed on 4 May is given to somebody who isn't here."),
    ],
)
def test_each_rule_has_its_fault(job, key, fault):
    assert said(job, key) == [fault]


def test_too_many_and_the_same_person_twice():
    assert said(chore("Feed"), "ann", "ben") == ["Feed on 4 May has more people than it takes."]
    assert said(chore("Feed", people=2), "ann", "ann") == ["Feed on 4 May has somebody twice."]


def test_rounds_and_absence_and_refusal_bind_unless_a_keeper_pinned():
    job = chore("Feed", 1)
    for more, text in (
        ({"rounds": ALWAYS - {(1, "morning")}}, "Ben isn't there for Feed on 5 May."),
        ({"away": ((day(1), day(2)),)}, "Ben isn't there for Feed on 5 May."),
        ({"refuses": frozenset({"feed"})}, "Ben is never to have Feed (5 May)."),
    ):
        people = [replace(BEN, **more)]
        assert said(job, "ben", people=people) == [text]
        assert said(job, "ben", people=people, pins={job.key: ("ben",)}) == []


def test_the_day_after_an_absence_is_free_again():
    assert said(chore("Feed", 2), "ben", people=[replace(BEN, away=((day(0), day(2)),))]) == []


def test_a_child_at_heat_is_fine_with_an_adult_in_the_same_room_and_round():
    hot = chore("Lamp", heated=True, room="r1")
    near = chore("Feed", room="r1")
    assert said(hot, "mia", others=[near], beside=("ann",)) == []
    assert len(said(hot, "mia", others=[near], beside=("ben",))) == 1
    assert len(said(hot, "mia", others=[chore("Feed", room="r2")], beside=("ann",))) == 1
    assert len(said(hot, "mia", others=[chore("Feed", 0, EVENING, room="r1")], beside=("ann",))) == 1
    assert said(replace(hot, people=2), "mia", "ann") == []


def test_a_pin_that_could_hold_must():
    job = chore("Feed")
    assert said(job, "ann", pins={job.key: ("ben",)}) == [
        "Feed on 4 May is fixed to Ben and not given to them."
    ]


@pytest.mark.parametrize("job", [chore("Dose", who="adult"), chore("Lamp", heated=True)])
def test_a_pin_that_breaks_a_rule_of_safety_need_not_hold(job):
    assert said(job, "ann", pins={job.key: ("mia",)}) == []


def test_a_pin_of_a_child_at_heat_holds_where_an_adult_could_come():
    job, near = chore("Lamp", heated=True, room="r1"), chore("Feed", room="r1")
    pins = {job.key: ("mia",)}
    assert len(said(job, "ann", others=[near], beside=("ben",), pins=pins)) == 1
    assert said(job, "ann", others=[near], beside=("ben",), pins={**pins, near.key: ("ben",)}) == []


@given(problems(), st.data())
@settings(max_examples=50, deadline=None)
def test_somebody_who_may_not_put_in_anywhere_is_found(problem, data):
    assigned = dict(solve(problem, steps=0).assigned)
    job = data.draw(st.sampled_from(problem.jobs))
    one = data.draw(st.sampled_from(problem.people))
    pinned = one.key in problem.pins.get(job.key, ())
    wrong = (
        (job.who == "adult" and not one.adult)
        or (job.who == "helper" and one.child)
        or not job.needs <= one.abilities
        or (not pinned and (job.job in one.refuses or (job.day.weekday(), job.round) not in one.rounds))
        or (not pinned and any(start <= job.day < end for start, end in one.away))
    )
    assume(wrong)
    assigned[job.key] = (one.key,)
    assert any(one.name in str(fault) for fault in check(problem, assigned))


@given(problems(), st.data())
@settings(max_examples=50, deadline=None)
def test_a_child_left_alone_with_heat_is_found_wherever_it_happens(problem, data):
    keys = [one.key for one in problem.people]
    assigned = {job.key: (data.draw(st.sampled_from(keys)),) for job in problem.jobs}
    found = any("alone with heat" in str(fault) for fault in check(problem, assigned))
    assert found == lonely(problem, assigned)
