"""The model of a rota: its bill of a rota that is held is the bill, and it frees only what it is told to."""

from dataclasses import replace
from itertools import islice
from random import Random

import pytest

from bench.rota_farm import farm as large
from bench.rota_farm import in_turn
from farm.planning.exact.rota_model import SCALE, RotaModel
from farm.planning.exact.rota_windows import windows
from farm.planning.rota import Weights, score, solve
from farm.planning.rota.choices import choices
from farm.planning.rota.fair import fair
from tests.outside.test_rota_optimum import every_rota, tiny

ONE_BY_ONE = [
    Weights(**{each: float(each == name) for each in Weights.__slots__}) for name in Weights.__slots__
]


def made(problem):
    """The model of a problem."""
    open_ = choices(problem)
    return RotaModel(problem, open_, fair(problem, open_).targets)


def some_rotas(problem, count):
    """Rotas of a tiny farm, good and bad, by keys of the jobs."""
    for sets in Random(7).sample(every_rota(problem), count):
        yield {job.key: tuple(who) for job, who in zip(problem.jobs, sets, strict=True)}


def held(model, rota):
    """What the model says a rota costs."""
    model.hold(rota, frozenset())
    outcome = model.model.run(20)
    assert outcome.optimal
    return outcome.cost / SCALE


@pytest.mark.parametrize("seed", range(8))
def test_any_rota_costs_the_same_in_the_model_as_by_the_bill(seed):
    problem = tiny(seed)
    model = made(problem)
    for rota in some_rotas(problem, 10):
        assert held(model, rota) == pytest.approx(score(problem, rota).cost, abs=0.005)


@pytest.mark.parametrize("weights", ONE_BY_ONE, ids=Weights.__slots__)
@pytest.mark.parametrize("seed", (3, 9))
def test_each_wish_alone_is_counted_the_same(seed, weights):
    problem = replace(tiny(seed), weights=weights)
    model = made(problem)
    for rota in some_rotas(problem, 6):
        assert held(model, rota) == pytest.approx(score(problem, rota).cost, abs=0.005)


def test_the_bill_of_a_large_rota_is_the_same_too():
    problem = large(days=7)
    problem = replace(problem, previous=solve(problem, steps=100).assigned)
    # Taking turns leaves nobody out and knows no children at heat without an adult: a rota like any other.
    for rota in (in_turn(problem), solve(problem, steps=2000).assigned):
        assert held(made(problem), rota) == pytest.approx(score(problem, rota).cost, abs=0.05)


def test_a_rota_that_leaves_a_child_alone_at_heat_is_none_for_the_model():
    problem = tiny(6)
    may, model = choices(problem).may, made(problem)
    other, one = problem.jobs[:2]
    assert one.heated
    assert one.room == other.room
    assert (one.people, other.people) == (1, 1)
    assert "cleo" in may[one.key]
    assert {"ada", "hal0"} <= set(may[other.key])
    rota = solve(problem, steps=50).assigned
    for watcher, found in (("ada", True), ("hal0", False)):
        model.hold({**rota, one.key: ("cleo",), other.key: (watcher,)}, frozenset())
        assert (model.model.run(5).values is not None) is found


def test_only_what_is_free_may_change():
    problem = tiny(2)
    rota, model = solve(problem, steps=50).assigned, made(problem)
    day = problem.jobs[0].day
    free = frozenset(seat for seat in model.seats if seat[0][1] == day)
    model.hold(rota, free)
    found = model.read(model.model.run(10).values)
    assert all(set(found[key]) == set(rota[key]) for key in rota if key[1] != day)


def test_what_is_pinned_stays_however_much_is_free():
    problem = tiny(2)
    (pinned,) = problem.pins
    model = made(problem)
    model.hold({})
    assert "hal0" in model.read(model.model.run(10).values)[pinned]
    assert "hal0" in model.read(model.relaxed(10).values)[pinned]


def test_splitting_people_costs_no_more_than_any_rota_and_leaves_the_model_as_it_was():
    problem = tiny(4)
    model = made(problem)
    before = list(model.model.whole)
    least = model.relaxed(10).bound / SCALE
    assert all(least <= score(problem, rota).cost + 0.01 for rota in some_rotas(problem, 10))
    assert model.model.whole == before
    assert any(before)


@pytest.mark.parametrize("most", (200, 1500))
def test_parts_are_small_enough_and_together_everything(most):
    problem = large(days=14)
    open_ = choices(problem)
    found = list(windows(open_, most))
    every = {(job.key, who) for job in open_.jobs for who in open_.may[job.key]}
    a_day = max(
        sum(len(open_.may[job.key]) for job in open_.jobs if job.day == day) for day in _days(problem)
    )
    stretches = list(islice(found, len(found) - 56))
    assert len(found) > 56
    assert all(len(each) <= max(most, a_day) for each in stretches)
    assert frozenset().union(*stretches) == every
    # The groups of three of eight people.
    assert [len({who for _, who in each}) for each in found[-56:]] == [3] * 56


def test_stretches_of_days_overlap():
    problem = large(days=14)
    open_ = choices(problem)
    first, second = islice(windows(open_, 800), 2)
    assert {key[1] for key, _ in first} & {key[1] for key, _ in second}
    assert {key[1] for key, _ in first} != {key[1] for key, _ in second}


def test_nobody_and_nothing_to_do_are_a_model_too():
    problem = tiny(1)
    nobody = made(replace(problem, people=(), pins={}, previous={}))
    assert nobody.model.run(5).cost / SCALE == 1000 * sum(job.people for job in problem.jobs)
    assert set(windows(choices(replace(problem, jobs=(), pins={}, previous={})), 100)) == {frozenset()}


def _days(problem):
    return sorted({job.day for job in problem.jobs})
