"""Polishing a rota: never worse, never late, honest about what is proved."""

from dataclasses import replace
from datetime import timedelta
from time import monotonic

import pytest

from bench.rota_farm import farm as large
from bench.rota_farm import in_turn
from farm.planning.exact.rota import AT_ONCE, polish
from farm.planning.rota import RotaAnswer, check, lower_bound, score, solve
from farm.planning.rota.choices import choices
from tests.outside.test_rota_optimum import farm, polished, tiny

CELLS = (("morning", "yard"), ("evening", "barn"))


def turns(problem):
    """The rota of taking turns as an answer of which nothing is known."""
    rota = in_turn(problem)
    return RotaAnswer(rota, score(problem, rota), 0.0, 1.0)


def sound(problem, answer):
    """Whether an answer keeps the rules, and says of itself what is so."""
    assert check(problem, answer.assigned) == ()
    assert answer.bill == score(problem, answer.assigned)
    assert 0 <= answer.bound <= answer.bill.cost
    assert answer.gap == pytest.approx((answer.bill.cost - answer.bound) / max(answer.bill.cost, 1))
    assert answer.proved == (answer.gap == 0)
    return answer


@pytest.mark.parametrize("seed", range(6))
def test_from_wherever_it_starts_a_small_rota_ends_as_good(seed):
    problem = tiny(seed)
    costs = {round(polish(problem, start, 30).bill.cost, 2) for start in (turns(problem), solve(problem))}
    assert len(costs) == 1


@pytest.mark.parametrize("seed", range(6))
def test_the_search_never_beats_a_proof_and_bounds_hold(seed):
    problem = farm(seed, 3, CELLS, 2, helpers=2)
    best = polished(problem)
    assert lower_bound(problem) <= best.bill.cost + 1e-6 <= solve(problem).bill.cost + 0.02


@pytest.mark.parametrize("seconds", (0.0, 0.05, 2.0))
def test_without_time_for_a_proof_the_answer_is_no_worse_and_in_time(seconds):
    problem = large(days=14)
    given = solve(problem, steps=500)
    start = monotonic()
    answer = sound(problem, polish(problem, given, seconds))
    # The solver looks at its clock now and then only, on a machine that has other work.
    assert monotonic() - start <= seconds + 10
    assert answer.bill.cost <= given.bill.cost
    assert answer.bound >= given.bound


def test_a_large_rota_gets_better_and_its_bound_with_it():
    problem = large(days=14)
    assert sum(len(who) for who in choices(problem).may.values()) > AT_ONCE
    given = turns(problem)
    answer = sound(problem, polish(problem, given, 8))
    assert answer.bill.cost < given.bill.cost / 2
    assert answer.bound > lower_bound(problem)


def test_a_proof_is_kept_when_there_is_no_time_for_another():
    problem = tiny(10)
    best = polished(problem)
    assert polish(problem, best, 0.0) == best


def test_pins_hold_and_those_that_cannot_are_said():
    problem = tiny(2)
    job = next(job for job in problem.jobs if job.who == "helper" or job.needs)
    unable = next(each for each in problem.people if each.child or not job.needs <= each.abilities)
    given = replace(problem, pins={**problem.pins, job.key: (unable.key,)})
    answer = polished(given)
    assert answer.dropped_pins == choices(given).dropped == (job.key,)
    assert all("hal0" in answer.assigned[key] for key in problem.pins)


def test_the_rota_in_force_is_left_alone_where_nothing_speaks_against_it():
    problem = replace(tiny(6), previous={}, pins={})
    best = polished(problem)
    again = replace(problem, previous=best.assigned)
    answer = polished(again)
    assert answer.bill.touched == 0
    assert answer.bill.cost == pytest.approx(best.bill.cost, abs=0.02)


def test_somebody_away_touches_only_cells_they_were_in():
    problem = replace(tiny(6), previous={}, pins={})
    best = polished(problem)
    day = problem.jobs[0].day
    people = tuple(
        replace(each, away=((day, day + timedelta(1)),)) if each.key == "hal0" else each
        for each in problem.people
    )
    answer = polished(replace(problem, people=people, previous=best.assigned))
    were = {job.cell for job in problem.jobs if "hal0" in best.assigned.get(job.key, ()) and job.day == day}
    assert answer.bill.touched >= sum(1 for _ in were)
    assert not any("hal0" in answer.assigned.get(job.key, ()) for job in problem.jobs if job.day == day)


def test_two_jobs_of_one_key_are_refused():
    problem = tiny(1)
    given = solve(problem, steps=10)
    with pytest.raises(ValueError, match="same key"):
        polish(replace(problem, jobs=(*problem.jobs, problem.jobs[0])), given, 1)


def test_nothing_to_do_is_proved_at_once():
    problem = replace(tiny(1), jobs=(), previous={}, pins={})
    given = solve(problem)
    answer = polish(problem, given, 5)
    assert (answer.proved, dict(answer.assigned), answer.bill) == (True, {}, given.bill)
