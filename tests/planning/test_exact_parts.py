"""The pieces proofs are made of: groups of things kept apart, and the model they go into."""

import subprocess
import sys
from itertools import combinations
from pathlib import Path

from hypothesis import given
from hypothesis import strategies as st

from farm.planning.exact import cliques
from farm.planning.exact.model import Model

PAIRS = st.sets(st.tuples(st.integers(0, 7), st.integers(0, 7)).filter(lambda pair: pair[0] < pair[1]))


@given(PAIRS)
def test_every_two_kept_apart_are_in_a_group_and_no_others(pairs):
    groups = cliques.cover(
        range(8), lambda one, other: (min(one, other), max(one, other)) in pairs, lambda item: item
    )
    inside = {pair for group in groups for pair in combinations(sorted(group), 2)}
    assert inside == pairs


@given(PAIRS)
def test_things_of_one_owner_need_no_group_for_themselves(pairs):
    groups = cliques.cover(
        range(8), lambda one, other: (min(one, other), max(one, other)) in pairs, lambda item: item // 4
    )
    assert all(len({item // 4 for item in group}) > 1 for group in groups)
    across = {pair for pair in pairs if pair[0] // 4 != pair[1] // 4}
    assert across <= {pair for group in groups for pair in combinations(sorted(group), 2)}


def knapsack(most):
    """Of things of size 3, 4 and 5 worth 4, 5 and 6, some that fit into `most`."""
    model = Model()
    columns = [model.column(-worth, whole=True) for worth in (4, 5, 6)]
    model.row(dict(zip(columns, (3, 4, 5), strict=True)), high=most)
    return model


def test_a_model_is_minimised_and_its_bound_is_its_cost():
    found = knapsack(8).run(5)
    assert (found.optimal, found.cost, found.bound) == (True, -10, -10)
    assert found.values.round().tolist() == [1, 0, 1]


def test_the_constant_is_part_of_the_cost():
    model = knapsack(8)
    model.constant = 100
    assert model.run(5).cost == 90


def test_a_column_that_is_forbidden_stays_out():
    model = knapsack(8)
    model.forbid([2])
    assert model.run(5).values.round().tolist() == [1, 1, 0]


def test_rows_nothing_satisfies_leave_no_assignment():
    model = knapsack(8)
    model.row({0: 1}, low=2)
    assert model.run(5).values is None


def test_an_assignment_to_start_from_does_not_change_the_best():
    assert knapsack(8).run(5, start={0: 0, 1: 1, 2: 0}).cost == -10


def test_models_that_say_the_same_have_one_signature():
    assert knapsack(8).signature == knapsack(8).signature != knapsack(7).signature


def test_only_the_folder_of_proofs_imports_the_general_solver():
    root = Path(__file__).resolve().parents[2]
    naming = {
        path.relative_to(root).as_posix()
        for folder in ("farm", "calendars", "tasks")
        for path in (root / folder).rglob("*.py")
        if "highspy" in path.read_text(encoding="utf-8")
    }
    assert naming == {"farm/planning/exact/model.py"}


def test_plans_shortfalls_and_ways_out_need_no_general_solver():
    code = "import farm.planning.ways_out, farm.planning.headroom, sys; print('highspy' in sys.modules)"
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert run.stdout.strip() == "False"
