"""Temporal bin packing, made by a published recipe and packed by the planner.

An item with a size and days it is there is a batch; a bin is a housing. That no item moves between bins is a stage for
each; that a bin is never over its capacity is floor enough. Packings are judged here, item by item.

The problem: M. de Cauwer, D. Mehta, B. O'Sullivan, "The temporal bin packing problem: an application to workload
management in data centres" (ICTAI 2016); M. Dell'Amico, F. Furini, M. Iori, "A branch-and-price algorithm for the
temporal bin packing problem" (Computers & Operations Research 114, 2020). The recipe, known as class a1: N. Aydın, I.
Muter, S. I. Birbil, "Multi-objective temporal bin packing problem: an application in cloud computing" (Computers &
Operations Research 121, 2020), with the ranges its published files show. The lower bound is L2 of S. Martello and P.
Toth ("Lower bounds and reduction procedures for the bin packing problem", Discrete Applied Mathematics 28, 1990), taken
at every moment.
"""

from dataclasses import dataclass
from datetime import date, timedelta
from random import Random

import pytest

from farm.planning.problem import Arrival, Batch, Demand, Housing, Problem, Stage
from farm.planning.solve import solve
from farm.planning.weights import Weights

START = date(2031, 1, 4)
CAPACITY = 100
"""Size of a bin, in dm²."""


@dataclass(frozen=True)
class Item:
    """There on days [start, end), with a size."""

    start: int
    end: int
    size: int


#: Days a life lasts, and sizes, by the names of the families: long or short, large or small.
LENGTHS, SIZES = {"Lon": (20, 60), "Sh": (10, 30)}, {"Lr": (25, 75), "Sm": (25, 50)}


def made(count, family, seed):
    """Items of a family such as "LonLr": each begins on any of as many days as there are items."""
    random = Random(f"{family}/{seed}")
    shortest, longest = LENGTHS[family[:-2]]
    least, most = SIZES[family[-2:]]
    found = []
    for _ in range(count):
        start = random.randrange(count)
        found.append(Item(start, start + random.randint(shortest, longest), random.randint(least, most)))
    return found


def lower_bound(items):
    """The largest L2 of any moment: no packing needs fewer bins."""
    return max(
        l2([item.size for item in items if item.start <= day < item.end])
        for day in {item.start for item in items}
    )


def l2(sizes):
    """Martello and Toth's bound: over every threshold, large items alone and what is left of the middling ones."""
    best = 0
    for threshold in {0, *(size for size in sizes if size <= CAPACITY // 2)}:
        huge = [size for size in sizes if size > CAPACITY - threshold]
        large = [size for size in sizes if CAPACITY // 2 < size <= CAPACITY - threshold]
        small = [size for size in sizes if threshold <= size <= CAPACITY // 2]
        spare = len(large) * CAPACITY - sum(large)
        best = max(best, len(huge) + len(large) + max(0, -((spare - sum(small)) // CAPACITY)))
    return best


def as_farm(items, bins):
    """The packing as a farm: nobody may move, so every day of a life is one stage of a housing kind."""
    batches = tuple(
        Batch(
            key=f"item-{at:03}",
            name=f"item {at}",
            species="chicken",
            birds=1,
            demand=Demand((item.size * 10_000,), (0,), (0,), (False,)),
            stages=(Stage(frozenset({"bin"}), 0),),
            arrival=Arrival(START + timedelta(days=item.start)),
            leave_age_days=item.end - item.start,
            # No move pays: a stay shorter than a life is not allowed.
            min_stay_days=item.end - item.start,
        )
        for at, item in enumerate(items)
    )
    housings = tuple(Housing(f"bin-{at:02}", f"bin {at}", "bin", CAPACITY) for at in range(bins))
    return Problem(
        START, max(item.end for item in items), housings, batches, weights=Weights(spare=0, mixing=0)
    )


def packing(items, bins, iterations):
    """The bin of each item, or None if the planner does not get them all in."""
    found = solve(as_farm(items, bins), iterations=iterations, report=lambda told: told.cost > 0)
    if found.cost:
        return None
    return [found.by_batch[f"item-{at:03}"].parts[0].stays for at in range(len(items))]


def judged(items, stays, bins):
    """Whether each item is in one bin for all its days and no bin is ever over."""
    load = {}
    for item, (stay, *moved) in zip(items, stays, strict=True):
        assert not moved
        assert (stay.start, stay.end) == (
            START + timedelta(days=item.start),
            START + timedelta(days=item.end),
        )
        for day in range(item.start, item.end):
            load[stay.housing, day] = load.get((stay.housing, day), 0) + item.size
    return max(load.values()) <= CAPACITY and len({bin for bin, _ in load}) <= bins


def fewest(items, iterations):
    """The fewest bins the planner packs into, tried from the bound on."""
    bound = lower_bound(items)
    for bins in range(bound, bound + 6):
        stays = packing(items, bins, iterations)
        if stays is not None:
            assert judged(items, stays, bins)
            return bins - bound
    return 6


@pytest.mark.parametrize(
    "sizes, bins", (([60, 60, 60], 3), ([50, 50, 51], 2), ([100, 1], 2), ([30, 30, 30], 1), ([], 0))
)
def test_the_bound_of_a_moment_is_the_textbook_one(sizes, bins):
    assert l2(sizes) == bins


def test_two_items_share_a_bin_only_where_they_fit():
    items = [Item(0, 10, 60), Item(5, 15, 60), Item(10, 20, 60)]
    assert packing(items, 1, 50) is None
    assert judged(items, packing(items, 2, 50), 2)


@pytest.mark.parametrize("family, start, size", (("LonLr", 40, 50), ("ShSm", 20, 37.5)))
def test_items_are_made_by_the_recipe(family, start, size):
    items = made(1000, family, 0)
    assert abs(sum(item.end - item.start for item in items) / 1000 - start) < 1.5
    assert abs(sum(item.size for item in items) / 1000 - size) < 1.5


def test_on_items_made_by_the_recipe_the_planner_is_on_average_within_a_bin_of_the_bound():
    families = [family + size for family in LENGTHS for size in SIZES]
    beyond = {(family, seed): fewest(made(100, family, seed), 300) for family in families for seed in (1, 2)}
    assert sum(beyond.values()) / len(beyond) <= 1, beyond
