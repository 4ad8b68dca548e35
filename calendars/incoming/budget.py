"""How far anybody's rules are followed: so many steps and no more, whatever they say. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime

from calendars.incoming.records import Unreadable

#: Occurrences of one entry, and of all, that are walked through from its beginning: project default (judgement).
MOST_STEPS, MOST_STEPS_IN_ALL = 40_000, 400_000


class Endless(ValueError):
    """An entry that comes round more often than is walked through."""


class Budget:
    """Counts steps; raises when an entry, or the whole calendar, takes too many."""

    def __init__(self) -> None:
        self.steps = 0

    def walk(self, starts: Iterable[datetime], until: datetime) -> Iterator[datetime]:
        """Yield the starts before `until`."""
        for step, start in enumerate(starts):
            self.steps += 1
            if self.steps > MOST_STEPS_IN_ALL:
                raise Unreadable("many")
            if step > MOST_STEPS:
                raise Endless("too many occurrences")
            if start >= until:
                return
            yield start
