"""What the entries of an edition depend on besides the agenda: who reads them, where, and how they are to look."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date, time

from calendars import colours, topics
from calendars.choices import Rounds, Scope
from farm.planning.agenda import Item


def _every(item: Item) -> bool:
    return True


def _nobody(item: Item) -> str:
    return ""


@dataclass(frozen=True, slots=True)
class Reader:
    """Who reads the calendar, and where.

    name: stable, part of UIDs. identity: the right side of UIDs. zone: of the farm; written_in: the one timed entries
    are written in, the farm's when "". round_times: farm-local. site: address of the pages, without a slash at its
    end. system: "metric" or "us". scope: what the calendar holds. shows: whether they see an item. doers: names of
    others who do it. rounds: timed or one line a day. alarm_minutes: before an entry, None for no alarm. orders:
    numbers of orders by those of their lines. feathered: days of age by batch.
    """

    name: str
    zone: str
    system: str
    round_times: Mapping[str, time]
    site: str
    identity: str
    shows: Callable[[Item], bool] = _every
    doers: Callable[[Item], str] = _nobody
    scope: str = Scope.FARM
    written_in: str = ""
    rounds: str = Rounds.TIMED
    alarm_minutes: int | None = None
    orders: Mapping[str, int] = field(default_factory=dict)
    feathered: Mapping[str, float] = field(default_factory=dict)

    def page(self, item: Item) -> str:
        """Return the address of the page a step opens."""
        return self.site + topics.path(item, self.scope, self.orders)

    def day_page(self, day: date) -> str:
        """Return the address of the page on which the day's chores are ticked."""
        return self.site + topics.day_path(day, self.scope)

    def colour(self, item: Item) -> str:
        """Return the colour of a step."""
        return colours.of_step(item, self.feathered)

    def alarm(self, *, all_day: bool, done: bool) -> int | None:
        """Return when an entry's alarm goes off, in minutes from its start; None for never.

        An all-day entry begins at midnight, when nobody wants to be woken: its alarm counts from the morning round.
        """
        if self.alarm_minutes is None or done:
            return None
        morning = self.round_times["morning"]
        return (morning.hour * 60 + morning.minute if all_day else 0) - self.alarm_minutes
