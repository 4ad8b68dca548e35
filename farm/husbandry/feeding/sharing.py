"""Which of several feeds is eaten next where more than one will do: the oldest in store first, then what is bought."""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Key = TypeVar("Key", bound=Hashable)


@dataclass(frozen=True, slots=True)
class Serving(Generic[Key]):
    """A feed that will do for some kinds of eaters. kg: how much of the tables' feed its store stands for."""

    feed: int
    serves: frozenset[Key]
    kg: float


def shared(
    wanted: Mapping[Key, Array], servings: Sequence[Serving[Key]], bought: Mapping[Key, int]
) -> dict[int, dict[Key, Array]]:
    """Return what is eaten of each feed by kind of eater on each day; all together it is what is wanted.

    servings: in the order they are eaten up. bought: by kind, the feed that is bought when no store is left; kinds that
    nothing is bought for are left out.
    """
    left = {serving.feed: max(serving.kg, 0.0) for serving in servings}
    found: dict[int, dict[Key, Array]] = {}
    days = max((len(kg) for kg in wanted.values()), default=0)
    for day in range(days):
        for key, kg in wanted.items():
            if key not in bought:
                continue
            lacking = float(kg[day])
            for serving in servings:
                if lacking > 0 and key in serving.serves and left[serving.feed] > 0:
                    taken = min(left[serving.feed], lacking)
                    left[serving.feed] -= taken
                    lacking -= taken
                    _put(found, serving.feed, key, days)[day] += taken
            if lacking > 0:
                _put(found, bought[key], key, days)[day] += lacking
    return found


def _put(found: dict[int, dict[Key, Array]], feed: int, key: Key, days: int) -> Array:
    return found.setdefault(feed, {}).setdefault(key, np.zeros(days))
