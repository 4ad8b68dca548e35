"""A pin inside a stay is no new beginning: only a stay that begins or ends with a pin may be shorter than the least."""

from dataclasses import replace

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from farm.planning import exact, plan_check, score
from farm.planning.problem import Arrival
from farm.planning.solve import solve
from tests.planning.plan_world import batch, brooder, day, demand, farm, past, pen, pin, plan, solved, stay, where

EVERY_DAY = frozenset()


def ousted(least, *pins, **changes):
    """Birds that lose their brooder on day 34 and gain a pen on day 40: until then only the small middle is left."""
    rooms = (brooder(in_service_to=day(34)), pen(in_service_from=day(40)), pen("middle", area_dm2=50))
    return farm(batch(min_stay_days=least, **changes), housings=rooms, pins=pins, move_weekdays=EVERY_DAY)


def middle(solution, part=0):
    """The days in the middle, as (first, end)."""
    return [(start, end) for housing, start, end in where(solution, part=part) if housing == "middle"]


def test_a_pinned_day_inside_a_stay_does_not_begin_it_anew():
    # Six days in the middle would be cheapest, yet seven are the least: the day pinned is the fourth of them.
    assert middle(solved(ousted(6, pin("middle", 37, 38)))) == [(34, 40)]
    assert middle(solved(ousted(7, pin("middle", 37, 38)))) == [(34, 41)]


def test_the_exact_model_counts_the_days_of_a_stay_around_a_pin_in_the_same_way():
    for least, end in ((6, 40), (7, 41), (9, 43)):
        problem = ousted(least, pin("middle", 37, 38))
        proof = exact.prove(problem)
        assert (proof.status, middle(proof.solution)) == ("proved", [(34, end)])
        assert proof.solution.cost == solved(problem).cost
