"""The smallest number that is enough, found from a guess."""

from __future__ import annotations

from collections.abc import Callable


def first_enough(enough: Callable[[int], bool], guess: int, most: int) -> int | None:
    """Return the smallest n in 1..most with enough(n), None where not even `most` is.

    enough: false below some number and true from it on; taken as false at 0. guess: where to look first, within
    1..most; a near one saves calls and changes no answer. The step doubles until the number is between two looks,
    then their span is halved.
    """
    low, high = 0, most + 1  # enough is false at low, and true at high unless that is beyond the most
    at, step = min(max(guess, 1), most), 1
    while low < at < high:
        if enough(at):
            high, at = at, at - step
        else:
            low, at = at, min(at + step, most)
        step *= 2
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high if high <= most else None
