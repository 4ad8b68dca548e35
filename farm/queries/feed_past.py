"""Which feed was eaten on days gone by: the one whose bag was opened last."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date

import numpy as np
from numpy.typing import NDArray

from farm.models import Feed, FeedEntry
from farm.models.feed import FeedKind
from farm.planning.window import Window
from farm.queries import feed_kinds, tally
from farm.queries.feed_kinds import Key

Array = NDArray[np.float64]


def shared(
    totals: Mapping[Key, Array],
    feeds: Sequence[Feed],
    ledgers: Mapping[int, Sequence[FeedEntry]],
    window: Window,
    now: int,
) -> dict[int, dict[Key, Array]]:
    """Return what was eaten of each feed by kind of eater before column `now`, in arrays of the whole window.

    What was eaten before a feed that serves it was opened (where none ever was: bought) is nobody's: it came from bags
    that were not recorded.
    """
    found: dict[int, dict[Key, Array]] = {}
    turns = {feed.pk: _turns(ledgers[feed.pk]) for feed in feeds}
    for key, kg in totals.items():
        eaten_on = sorted(
            (day, feed.pk) for feed in feeds if feed_kinds.serves(feed, key) for day in turns[feed.pk]
        )
        for place, (day, feed_pk) in enumerate(eaten_on):
            end = window.index(eaten_on[place + 1][0]) if place + 1 < len(eaten_on) else now
            days = slice(max(window.index(day), 0), max(min(end, now), 0))
            if kg[days].any():
                array = found.setdefault(feed_pk, {}).setdefault(key, np.zeros(window.days))
                array[days] = kg[days]
    return found


def _turns(entries: Sequence[FeedEntry]) -> list[date]:
    """Return the days from which a feed is eaten: its openings, or its first line where no bag was ever opened."""
    lines = tally.standing(entries)
    openings = {entry.day for entry in lines if entry.kind == FeedKind.OPENED}
    return sorted(openings) or sorted(entry.day for entry in lines)[:1]
