"""Few groups of things, at most one of each to be chosen, that say every "not both" there is."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Sequence
from itertools import combinations
from typing import TypeVar

T = TypeVar("T")


def cover(
    items: Sequence[T], parted: Callable[[T, T], bool], owner: Callable[[T], Hashable]
) -> list[list[T]]:
    """Return groups in which every two are parted, so that every parted two of different owners are in one.

    A group is grown greedily in the order given. Groups within one owner are left out: its owner chooses once anyway.
    """
    apart = {
        (one, other): parted(items[one], items[other]) for one, other in combinations(range(len(items)), 2)
    }
    covered: set[tuple[int, int]] = set()
    found = []
    for (one, other), differ in apart.items():
        if not differ or (one, other) in covered or owner(items[one]) == owner(items[other]):
            continue
        members = [one, other]
        for more in range(len(items)):
            if more not in members and all(apart[min(more, each), max(more, each)] for each in members):
                members.append(more)
        covered |= set(combinations(sorted(members), 2))
        found.append([items[member] for member in members])
    return found
