"""Colour means age: down-yellow at hatch, deep russet when feathered. The same ramp everywhere, with a text twin.

Chosen by us; contrast against the ink text drawn over it is at least 4.5:1 at every stop (a test measures it).
"""

from __future__ import annotations

from itertools import pairwise

#: (share of the way from hatch to feathered, colour)
RAMP = (
    (0.0, (0xF6, 0xE0, 0x8A)),
    (0.35, (0xEB, 0xBE, 0x6C)),
    (0.7, (0xD9, 0x97, 0x5E)),
    (1.0, (0xC9, 0x7E, 0x58)),
)


def colour(age_days: int, feathered_day: float) -> str:
    """Return the CSS colour of a bird `age_days` old whose type is feathered on `feathered_day`."""
    share = min(1.0, max(0.0, age_days / max(feathered_day, 1.0)))
    for (low, below), (high, above) in pairwise(RAMP):
        if share <= high:
            part = (share - low) / (high - low)
            mixed = (round(a + (b - a) * part) for a, b in zip(below, above, strict=True))
            return "#" + "".join(f"{channel:02x}" for channel in mixed)
    raise AssertionError("the ramp ends at 1")


def stage(age_days: int, feathered_day: float) -> str:
    """Return the CSS class of the pattern twin: `down`, `pinning`, `feathering` or `feathered`."""
    share = age_days / max(feathered_day, 1.0)
    return (
        "down" if share < 0.35 else "pinning" if share < 0.7 else "feathering" if share < 1 else "feathered"
    )
