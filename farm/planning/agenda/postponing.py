"""Items put off to another day or round. They are shown there and stay the occurrences they were: marks, calendars and
rota know them by the day and round they were first due."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from farm.planning.agenda.records import Item
from farm.planning.agenda.sorting import in_order
from farm.planning.window import Window

DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Postponed:
    """The occurrence (source, due, round) is done on `to_due` in `to_round` instead. Earlier is possible too."""

    source: str
    due: date
    round: str
    to_due: date
    to_round: str

    @property
    def occurrence(self) -> tuple[str, date, str]:
        """Return which occurrence it is about."""
        return self.source, self.due, self.round


def gather(
    ask: Callable[[Window], Iterable[Item]], postponed: Sequence[Postponed], window: Window
) -> tuple[Item, ...]:
    """Return the items to be done in the window, sorted: what `ask` finds there, without what was put off out of it and
    with what was put off into it. `ask` is called for the window, and for each stretch of `reach`."""
    found = [item for each in (window, *reach(postponed, window)) for item in ask(each)]
    return apply(found, postponed, window)


def apply(items: Iterable[Item], postponed: Iterable[Postponed], window: Window) -> tuple[Item, ...]:
    """Return the items at their new days and rounds, sorted; those then outside the window are left out.

    A `Postponed` whose occurrence is not among the items does nothing; of several about one, the last counts.
    """
    places = {each.occurrence: each for each in postponed}
    placed = (move(item, places[item.occurrence]) if item.occurrence in places else item for item in items)
    return in_order(item for item in placed if window.start <= item.due < window.end)


def move(item: Item, to: Postponed) -> Item:
    """Return the item at its new day and round; it is the same occurrence. A window that is over by then lasts one day.

    Put off to where it first was, it is as if it had never been put off.
    """
    first = item.first or (item.due, item.round)
    until = item.until if item.until is None or item.until > to.to_due else to.to_due + DAY
    age = None if item.age_days is None else item.age_days + (to.to_due - item.due).days
    return replace(
        item,
        due=to.to_due,
        round=to.to_round,
        until=until,
        age_days=age,
        first=None if first == (to.to_due, to.to_round) else first,
    )


def reach(postponed: Iterable[Postponed], window: Window) -> list[Window]:
    """Return the stretches of days outside the window from which something was put off into it, in order."""
    inside = range(window.start.toordinal(), window.end.toordinal())
    outside = sorted(
        {
            each.due.toordinal()
            for each in postponed
            if each.to_due.toordinal() in inside and each.due.toordinal() not in inside
        }
    )
    if not outside:
        return []
    breaks = [
        0,
        *(i for i, (day, after) in enumerate(pairwise(outside), 1) if after != day + 1),
        len(outside),
    ]
    return [Window(date.fromordinal(outside[a]), b - a) for a, b in pairwise(breaks)]


def span(postponed: Iterable[Postponed], window: Window) -> Window:
    """Return the smallest window that holds the window and all of its `reach`: whose records must be read for it."""
    every = [window, *reach(postponed, window)]
    start, end = min(each.start for each in every), max(each.end for each in every)
    return Window(start, (end - start).days)
