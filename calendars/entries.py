"""The agenda as calendar entries: a step is an all-day event, the chores of a round one timed event with a checklist.

Choices (calendars.ics writes them, tests hold them):
- A done step keeps its place under "✓ title"; a round does when all of it is done or left out. A step left out on
  purpose shows as "Left out: title". Neither is CANCELLED: that is for what is no longer planned at all.
- A step's identity is its source, so that a hatch day put right moves the event; a round's is its day, name and reader.
- A member's calendar holds the chores their role may do, until a rota says who does which.
"""

from __future__ import annotations

import logging
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from urllib.parse import quote
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from calendars import wordings
from calendars.ics import Entry
from farm import wording
from farm.planning.agenda import ROUNDS, Item

log = logging.getLogger(__name__)

#: (source, due, round) -> "done" or "skipped"
Marks = Mapping[tuple[str, date, str], str]

LEAST_MINUTES = 10
STEP_COLOR = "sienna"
ROUND_COLORS = {"morning": "gold", "midday": "goldenrod", "evening": "saddlebrown"}


@dataclass(frozen=True, slots=True)
class Reader:
    """Who reads the calendar, and where.

    name: stable, part of UIDs. may_do: kinds of chores. identity: the right side of UIDs. round_times: farm-local.
    site: address of the pages, without a slash at its end. system: "metric" or "us".
    """

    name: str
    may_do: frozenset[str]
    zone: str
    system: str
    round_times: Mapping[str, time]
    site: str
    identity: str


def entries(items: Sequence[Item], marks: Marks, reader: Reader, now: datetime) -> list[Entry]:
    """Return the entries of an agenda, `now` standing in for the instant their content last changed.

    An item that can't be shown is left out and logged: it must not take everybody's calendar down.
    """
    mine = [item for item in items if item.who in reader.may_do]
    found: list[Entry] = []
    for make in (*_steps(mine, marks, reader, now), *_rounds(mine, marks, reader, now)):
        try:
            found.append(make())
        except (ValueError, KeyError, TypeError, OverflowError):
            log.exception("a calendar entry could not be written and was left out")
    return found


def day_url(site: str, day: date) -> str:
    """Return the page on which the day's chores are ticked."""
    return f"{site}/?day={day.isoformat()}"


def _steps(items: Sequence[Item], marks: Marks, reader: Reader, now: datetime) -> Iterator[Callable[[], Entry]]:
    steps = [item for item in items if item.kind == "step"]
    times = Counter(item.source for item in steps)
    for item in steps:
        # A source that comes twice in the window can't name one event; its day has to.
        twice = f"/{item.due.isoformat()}" if times[item.source] > 1 else ""
        yield lambda item=item, twice=twice: _step(item, twice, marks.get(item.occurrence, ""), reader, now)  # type: ignore[misc]


def _step(item: Item, twice: str, state: str, reader: Reader, now: datetime) -> Entry:
    title = wording.say(item.title, reader.system)
    return Entry(
        uid=f"step:{quote(item.source, safe=':/')}{twice}@{reader.identity}",
        start=item.due,
        end=item.due + timedelta(days=1),
        summary={"done": "✓ %s", "skipped": _("Left out: %s")}.get(state, "%s") % title,
        stamp=now,
        description=wordings.step_body(item, reader.system),
        location=item.room_name,
        url=day_url(reader.site, item.due),
        categories=(_("Step"),),
        color=STEP_COLOR,
    )


def _rounds(items: Sequence[Item], marks: Marks, reader: Reader, now: datetime) -> Iterator[Callable[[], Entry]]:
    rounds: dict[tuple[date, str], list[Item]] = defaultdict(list)
    for item in items:
        if item.kind == "chore":
            rounds[item.due, item.round].append(item)
    for (day, name), chores in sorted(rounds.items(), key=lambda pair: (pair[0][0], ROUNDS.index(pair[0][1]))):
        yield lambda day=day, name=name, chores=chores: _round(day, name, chores, marks, reader, now)  # type: ignore[misc]


def _round(day: date, name: str, chores: list[Item], marks: Marks, reader: Reader, now: datetime) -> Entry:
    states = [marks.get(chore.occurrence, "") for chore in chores]
    took = sum(chore.minutes for chore in chores)
    start, end = timed(day, reader.round_times[name], max(took, LEAST_MINUTES), ZoneInfo(reader.zone))
    lines = [wordings.chore_line(chore, state, reader.system) for chore, state in zip(chores, states, strict=True)]
    said = wordings.caution_text(key for chore in chores for key in chore.cautions)
    return Entry(
        uid=f"round:{day.isoformat()}/{name}/{reader.name}@{reader.identity}",
        start=start,
        end=end,
        zone=reader.zone,
        summary=("✓ %s" if all(states) else "%s") % _round_title(name, len(chores), took),
        stamp=now,
        description=wordings.fitted(lines, said),
        url=day_url(reader.site, day),
        categories=(_("Round"),),
        color=ROUND_COLORS[name],
    )


def timed(day: date, at: time, minutes: int, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the half-open instants (UTC) of `minutes` from a local time.

    A time the clocks skip that day is read with the offset before the change, one they repeat as the first (RFC 5545
    §3.3.5).
    """
    start = datetime.combine(day, at, tzinfo=zone).astimezone(UTC)
    return start, start + timedelta(minutes=minutes)


def _round_title(name: str, chores: int, took: int) -> str:
    title = {"morning": _("Morning round"), "midday": _("Midday round"), "evening": _("Evening round")}[name]
    many = ngettext("%d chore", "%d chores", chores) % chores
    return " · ".join([title, many, wordings.minutes(took)])
