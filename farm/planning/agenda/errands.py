"""Errands: dated work that no age of a batch calls for, such as ordering feed or setting a lamp's timer."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from farm.phrase import Phrase
from farm.planning.agenda.building import Builder
from farm.planning.agenda.homes import Home
from farm.planning.agenda.records import Item


@dataclass(frozen=True, slots=True)
class AgendaErrand:
    """One errand. source: stable, its second part a key of the chore table ("feed:3/order_feed/12").

    until: the first day after its window, None for a one-day errand. room: key of the housing it is done in, None for
    none. open_ended: it stays on the list until it is ticked.
    """

    source: str
    due: date
    title: Phrase
    why: Phrase
    until: date | None = None
    room: str | None = None
    room_name: str = ""
    open_ended: bool = False

    @property
    def job(self) -> str:
        """Return its key in the chore table."""
        return self.source.split("/")[1]


def steps(errands: Sequence[AgendaErrand], build: Builder) -> Iterator[Item]:
    """Yield one step an errand. KeyError when the chore table lacks its job."""
    for errand in errands:
        place = Home(errand.room or "", errand.room_name, 0, True, False, True)
        item = build.step(
            errand.job, errand.source, errand.due, place, errand.title, errand.why, until=errand.until
        )
        yield replace(item, room=errand.room, open_ended=errand.open_ended)
