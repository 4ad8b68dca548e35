"""Work that an alert asks for: one step each, on the day it is about."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from farm.phrase import Phrase
from farm.planning.agenda.building import Builder
from farm.planning.agenda.homes import DAY, Home, Homes
from farm.planning.agenda.records import Item


@dataclass(frozen=True, slots=True)
class AgendaAlert:
    """An open alert.

    key: stable, without "/". job: of the chore table. batch, room: what it is about, None for all.

    days: how long it is shown.
    """

    key: str
    job: str
    title: Phrase
    why: Phrase
    day: date
    batch: str | None = None
    room: str | None = None
    room_name: str = ""
    days: int = 1


def steps(alerts: Sequence[AgendaAlert], homes: Homes, build: Builder) -> Iterator[Item]:
    """Yield one step an alert. Its minutes are for the birds it is about, or for all that are in housing that day."""
    for alert in alerts:
        batch = homes.batches.get(alert.batch or "")
        item = build.step(
            alert.job,
            f"alert:{alert.key}",
            alert.day,
            Home(alert.room or "", alert.room_name, _birds(alert, homes), True, False, True),
            alert.title,
            alert.why,
            batch=batch,
            until=alert.day + alert.days * DAY,
        )
        yield replace(item, room=alert.room)


def _birds(alert: AgendaAlert, homes: Homes) -> int:
    keys = [alert.batch] if alert.batch in homes.batches else list(homes.batches)
    return sum(
        home.birds
        for key in keys
        for home in homes.of(str(key), alert.day)
        if alert.room in (None, home.room)
    )
