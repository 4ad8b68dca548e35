"""The measurements of headroom and ways out: found by name, and they would notice a wrong number."""

from dataclasses import replace

from bench import __main__ as bench
from bench import headroom as measured
from bench import plan_farms, ways_out
from farm.planning import headroom, score
from farm.planning.shortfalls import shortfalls
from farm.planning.solve import solve


def asked():
    problem = plan_farms.planted("small", 1).problem
    solution = solve(problem, iterations=20)
    types = measured.kinds(problem)
    return problem, solution, types, headroom.fixed(problem, solution, types)


def test_both_are_measurements():
    assert {"headroom", "ways_out"} <= set(bench.measurements())


def test_a_year_that_is_right_is_confirmed_cell_by_cell():
    right, cells = measured.confirmed(*asked())
    assert right == cells >= measured.JUDGED


def test_a_bird_too_many_in_every_cell_is_noticed_in_every_cell():
    problem, solution, types, table = asked()
    right, cells = measured.confirmed(problem, solution, types, replace(table, birds=table.birds + 1))
    assert (right, cells) == (0, cells)


def test_a_tight_farm_has_less_floor_everywhere_and_shortfalls_to_explain():
    problem = plan_farms.planted("small", 1).problem
    tight = ways_out.tight(problem)
    assert all(
        one.area_dm2 < other.area_dm2 for one, other in zip(tight.housings, problem.housings, strict=True)
    )
    solution = solve(tight, iterations=40)
    assert shortfalls(tight, solution.plans)
    assert score.bill(tight, solution.plans).shortfall > 0
