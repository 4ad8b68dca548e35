"""The judges of `check` find exactly what a naive judge finds who walks through the farm day by day."""

import itertools
from collections import defaultdict
from datetime import timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from naive_judge import judge, too_soon
from occupancy_strategies import APART, WINDOW, farms

from farm.planning.breach import KINDS, runs
from farm.planning.check import breaches
from farm.planning.occupancy import occupancy


def subject(breach):
    """The naive judge's name for what a breach is about."""
    if breach.kind == "species" and len(breach.groups) == 1:
        return "foreign", breach.room, breach.groups[0]
    return breach.kind, breach.room, breach.groups[0] if breach.kind == "heat" else ""


def judged(farm):
    return [breach for breach in breaches(occupancy(*farm), apart=APART) if breach.kind != "rest"]


def days(breach):
    return [breach.start + timedelta(days=n) for n in range((breach.end - breach.start).days)]


@given(farms())
def test_breaches_are_found_exactly_on_the_days_the_naive_judge_finds_them(farm):
    found = defaultdict(list)
    for breach in judged(farm):
        found[subject(breach)] += days(breach)
    assert {key: sorted(listed) for key, listed in found.items()} == {
        key: sorted(by_day) for key, by_day in judge(*farm, APART).items()
    }


@given(farms())
def test_the_worst_day_its_shortage_and_the_birds_too_many_are_the_naive_judges(farm):
    naive = judge(*farm, APART)
    for breach in judged(farm):
        amounts = {day: naive[subject(breach)][day] for day in days(breach)}
        short, birds = amounts[breach.worst]
        assert breach.short == pytest.approx(short)
        assert breach.birds == birds
        assert max(amount for amount, _ in amounts.values()) <= short + 1e-6


@given(farms())
def test_two_breaches_of_one_rule_never_touch(farm):
    by_subject = defaultdict(list)
    for breach in judged(farm):
        by_subject[subject(breach)].append(breach)
    for listed in by_subject.values():
        for one, other in itertools.pairwise(listed):
            assert one.end < other.start


@given(farms())
def test_rest_days_are_missed_exactly_when_the_naive_judge_says_so(farm):
    window, rooms, groups, parts = farm
    inside = tuple(part for part in parts if part.start >= window.start)
    load = occupancy(window, rooms, groups, inside)
    found = {
        (breach.room, breach.groups[0], day)
        for breach in breaches(load)
        if breach.kind == "rest"
        for day in days(breach)
    }
    assert found == too_soon(window, rooms, inside)


@given(farms())
def test_every_breach_names_its_kind_its_days_and_batches_that_are_there(farm):
    known = {group.key for group in farm[2]}
    for breach in breaches(occupancy(*farm), apart=APART):
        assert breach.kind in KINDS
        assert WINDOW.start <= breach.start <= breach.worst < breach.end <= WINDOW.end
        assert breach.groups
        assert set(breach.groups) <= known
        assert breach.short > 0 or breach.kind == "service"  # birds before their hatch day ask for nothing
        assert breach.birds > 0


@given(farms(), st.randoms())
def test_the_order_of_rooms_batches_and_stays_changes_no_breach(farm, random):
    window, *rest = farm
    mixed = [random.sample(things, len(things)) for things in rest]
    assert [
        (b.kind, b.room, b.groups, b.start, b.end, b.worst, b.birds)
        for b in breaches(occupancy(window, *mixed), apart=APART)
    ] == [
        (b.kind, b.room, b.groups, b.start, b.end, b.worst, b.birds)
        for b in breaches(occupancy(*farm), apart=APART)
    ]


@given(st.lists(st.booleans(), max_size=40))
def test_runs_cover_exactly_the_true_days(broken):
    found = runs(np.array(broken, dtype=bool))
    covered = [n for first, stop in found for n in range(first, stop)]
    assert covered == [n for n, is_broken in enumerate(broken) if is_broken]
    assert all(one[1] < other[0] for one, other in itertools.pairwise(found))
