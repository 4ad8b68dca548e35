"""A farm-year of 40 batches in 20 housings: arrays against a plain-Python loop over the same data."""

from __future__ import annotations

import numpy as np

from bench.farms import farm_year
from bench.plain import plain_occupancy
from bench.timing import medians
from farm.planning.occupancy import occupancy

GOAL_RATIO = 50
GOAL_SECONDS = 0.050


def measure() -> bool:
    """Print both medians and their ratio; return whether the numbers agree and the goals are reached."""
    farm = farm_year()
    given = (farm.window, farm.rooms, farm.groups, farm.parts)
    load, tables = occupancy(*given), plain_occupancy(*given)
    differing = [name for name, table in tables.items() if not np.array_equal(getattr(load, name), table)]
    quick, plain = medians(lambda: occupancy(*given), lambda: plain_occupancy(*given))
    ratio = plain / quick
    batches, stays, housings = len(farm.groups), len(farm.parts), len(farm.rooms)
    print(f"  {batches} batches, {stays} stays, {housings} housings, {farm.window.days} days")
    print(f"  arrays       {quick * 1000:8.2f} ms   (goal below {GOAL_SECONDS * 1000:.0f} ms)")
    print(f"  plain Python {plain * 1000:8.2f} ms")
    print(f"  ratio        {ratio:8.0f} x    (goal {GOAL_RATIO} x)")
    verdict = f"DIFFER: {', '.join(differing)}" if differing else "equal, to the last bit"
    print(f"  numbers      {verdict}")
    return not differing and quick < GOAL_SECONDS and ratio >= GOAL_RATIO
