"""The measurement of rotas: found by name, repeatable, its plain rule a fair one, its verdict honest."""

from dataclasses import replace

import pytest

from bench import __main__ as bench
from bench import rota, rota_farm
from farm.planning.rota import check, score, solve


def test_it_is_a_measurement_and_its_farm_is_none():
    assert "rota" in bench.measurements()
    assert "rota_farm" not in bench.measurements()


def test_the_measured_farm_is_of_the_promised_size():
    problem = rota_farm.farm()
    days = {job.day for job in problem.jobs}
    assert (len(problem.people), len(days), len(problem.jobs)) == (8, 28, 28 * 30)
    assert {sum(job.day == day for job in problem.jobs) for day in days} == {30}


def test_the_same_seed_makes_the_same_farm_and_another_seed_another():
    assert rota_farm.farm(1) == rota_farm.farm(1)
    assert rota_farm.farm(1).jobs != rota_farm.farm(2).jobs


@pytest.mark.parametrize("seed", range(5))
def test_taking_turns_breaks_no_rule_and_leaves_no_seat_that_a_search_fills(seed):
    problem = rota_farm.farm(seed, days=7)
    plain = rota_farm.in_turn(problem)
    assert check(problem, plain) == ()
    assert score(problem, plain).unfilled <= solve(problem, steps=500).bill.unfilled + 1


def test_those_who_may_do_everything_take_turns_one_after_the_other():
    problem = rota_farm.farm(1, people=2, days=1)
    jobs = tuple(replace(job, people=1, needs=frozenset(), who="child", heated=False) for job in problem.jobs)
    problem = replace(problem, jobs=jobs)
    people = tuple(replace(each, away=()) for each in problem.people)
    counts = [
        sum(each.key in who for who in rota_farm.in_turn(replace(problem, people=people)).values())
        for each in people
    ]
    assert counts == [15, 15]


def small(monkeypatch, **changes):
    """The measurement on a few days, with little time."""
    problem = rota_farm.farm(1, people=4, days=2)
    monkeypatch.setattr(rota, "farm", lambda: problem)
    for name, value in {"LIMITS": (5.0, 15.0), "GOAL_SECONDS": 60.0, "GOAL_GAP": 0.3, **changes}.items():
        monkeypatch.setattr(rota, name, value)
    return problem


def test_a_small_measurement_prints_the_three_rotas_and_reaches_its_goals(monkeypatch, capsys):
    small(monkeypatch)
    assert rota.measure() is True
    told = capsys.readouterr().out
    assert "4 people, 2 days, 60 chores" in told
    assert [word for word in ("taking turns", "first rota ", "polished  ") if word not in told] == []
    assert "hard rules     kept by all" in told


def test_a_first_rota_that_takes_too_long_falls_short(monkeypatch):
    small(monkeypatch, GOAL_SECONDS=0.0)
    assert rota.measure() is False


def test_a_gap_that_stays_falls_short_and_polishing_ends_with_its_limits(monkeypatch):
    problem = small(monkeypatch)
    given = replace(solve(problem, steps=10), bound=0.0, gap=1.0)
    tried = []

    def no_better(of, answer, seconds):
        tried.append(seconds)
        return answer

    monkeypatch.setattr(rota, "polish", no_better)
    assert rota.polished(problem, given, (1.0, 2.0))[0] is given
    assert tried == [1.0, 2.0]
    assert rota.measure() is False


def test_a_rota_that_breaks_a_rule_falls_short(monkeypatch, capsys):
    problem = small(monkeypatch)
    job = problem.jobs[0]
    monkeypatch.setattr(rota, "in_turn", lambda of: {job.key: tuple(each.key for each in of.people)})
    assert rota.measure() is False
    assert "BROKEN" in capsys.readouterr().out
