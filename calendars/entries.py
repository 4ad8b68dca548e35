"""The agenda as calendar entries: a step is an all-day event, the chores of a round one timed event with a
checklist.

Choices (calendars.ics writes them, tests hold them):
- A done step keeps its place under "✓ title"; a round does when all of it is done or left out. A step left
  out on purpose shows as "Left out: title". Neither is CANCELLED: that is for what is no longer planned at
  all.
- A step's identity is its source, so that a hatch day put right moves the event; a round's is its day, name
  and reader.
- Whose an item is, `calendars.whose` says; where others do it too, the body names them.
"""

from __future__ import annotations

import logging
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from urllib.parse import quote
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from calendars import wordings
from calendars.ics import Entry
from farm import wording
from farm.phrase import Phrase
from farm.planning.agenda import Item

log = logging.getLogger(__name__)

#: (source, due, round) -> "done" or "skipped"
Marks = Mapping[tuple[str, date, str], str]

#: How sources of own chores begin: even one that comes once in a window comes again in the next.
_OWN = "own:"
LEAST_MINUTES = 10
DONE = "✓ "
STEP_COLOR = "sienna"
ROUND_COLORS = {"morning": "gold", "midday": "goldenrod", "evening": "saddlebrown"}


def _every(item: Item) -> bool:
    return True


def _nobody(item: Item) -> str:
    return ""


@dataclass(frozen=True, slots=True)
class Reader:
    """Who reads the calendar, and where.

    name: stable, part of UIDs. identity: the right side of UIDs. round_times: farm-local. site: address of the pages,
    without a slash at its end. system: "metric" or "us". shows: whether they see an item. doers: names of others who
    do it.
    """

    name: str
    zone: str
    system: str
    round_times: Mapping[str, time]
    site: str
    identity: str
    shows: Callable[[Item], bool] = _every
    doers: Callable[[Item], str] = _nobody


def entries(items: Sequence[Item], marks: Marks, reader: Reader, now: datetime) -> list[Entry]:
    """Return the entries of an agenda, `now` standing in for the instant their content last changed.

    An item that can't be shown is left out and logged: it must not take everybody's calendar down.
    """
    writer = _Writer(marks, reader, now, _repeated(items))
    mine = [item for item in items if reader.shows(item)]
    return [*writer.steps(mine), *writer.rounds(mine)]


def uids(items: Sequence[Item], reader: Reader) -> Iterator[str]:
    """Yield the UIDs that the steps of an agenda, and the rounds of its days, have for the reader, shown or not."""
    repeated = _repeated(items)
    for item in items:
        if item.kind == "step":
            yield _step_uid(item, repeated, reader)
        else:
            yield _round_uid(item.due, item.round, reader)


def _repeated(items: Sequence[Item]) -> frozenset[str]:
    """Return the sources that can't name one event, as they come more than once: the day has to, too."""
    times = Counter(item.source for item in items if item.kind == "step")
    return frozenset(source for source, many in times.items() if many > 1 or source.startswith(_OWN))


def _step_uid(item: Item, repeated: frozenset[str], reader: Reader) -> str:
    source, first_due, _round = item.occurrence
    key = f"{source}/{first_due.isoformat()}" if source in repeated else source
    return f"step:{quote(key, safe=':/')}@{reader.identity}"


def _round_uid(day: date, name: str, reader: Reader) -> str:
    return f"round:{day.isoformat()}/{name}/{reader.name}@{reader.identity}"


def day_url(site: str, day: date) -> str:
    """Return the page on which the day's chores are ticked."""
    return f"{site}/?day={day.isoformat()}"


class _Writer:
    """Writes the entries of one build."""

    def __init__(self, marks: Marks, reader: Reader, now: datetime, repeated: frozenset[str]) -> None:
        self.marks = marks
        self.repeated = repeated
        self.reader = reader
        self.now = now
        self.zone = ZoneInfo(reader.zone)
        # A hundred days ask the same: each title and each set of cautions is put in words once.
        self.titles: dict[int, str] = {}
        self.cautions: dict[tuple[str, ...], str] = {}

    def steps(self, items: Sequence[Item]) -> Iterator[Entry]:
        for item in items:
            if item.kind == "step":
                with _left_out(f"step {item.source}"):
                    yield self._step(item)

    def rounds(self, items: Sequence[Item]) -> Iterator[Entry]:
        rounds: dict[tuple[date, str], list[Item]] = defaultdict(list)
        for item in items:
            if item.kind == "chore":
                rounds[item.due, item.round].append(item)
        for (day, name), chores in rounds.items():
            with _left_out(f"the {name} round of {day}"):
                if entry := self._round(day, name, chores):
                    yield entry

    def _step(self, item: Item) -> Entry:
        title = wording.say(item.title, self.reader.system)
        forms = {"done": f"{DONE}%s", "skipped": _("Left out: %s")}
        return Entry(
            uid=_step_uid(item, self.repeated, self.reader),
            start=item.due,
            end=item.due + timedelta(days=1),
            summary=forms.get(self.marks.get(item.occurrence, ""), "%s") % title,
            stamp=self.now,
            description=wordings.step_body(item, self.reader.system, self.reader.doers(item)),
            location=item.room_name,
            url=day_url(self.reader.site, item.due),
            categories=(_("Step"),),
            color=STEP_COLOR,
        )

    def _round(self, day: date, name: str, chores: Sequence[Item]) -> Entry | None:
        shown: list[Item] = []
        lines: list[str] = []
        for chore in chores:
            with _left_out(f"chore {chore.source}"):
                state = self.marks.get(chore.occurrence, "")
                lines.append(
                    wordings.chore_line(chore, self._title(chore.title), state, self.reader.doers(chore))
                )
                shown.append(chore)
        if not shown:
            return None
        took = sum(chore.minutes for chore in shown)
        start, end = timed(day, self.reader.round_times[name], max(took, LEAST_MINUTES), self.zone)
        done = all(chore.occurrence in self.marks for chore in shown)
        return Entry(
            uid=_round_uid(day, name, self.reader),
            start=start,
            end=end,
            zone=self.reader.zone,
            summary=(DONE if done else "") + _round_title(name, len(shown), took),
            stamp=self.now,
            description=wordings.fitted(lines, self._cautions(shown)),
            url=day_url(self.reader.site, day),
            categories=(_("Round"),),
            color=ROUND_COLORS[name],
        )

    def _title(self, title: Phrase) -> str:
        if id(title) not in self.titles:
            self.titles[id(title)] = wording.say(title, self.reader.system)
        return self.titles[id(title)]

    def _cautions(self, chores: Sequence[Item]) -> str:
        keys = tuple(dict.fromkeys(key for chore in chores for key in chore.cautions))
        if keys not in self.cautions:
            self.cautions[keys] = wordings.caution_text(keys, wordings.ROUND_CAUTION_ROOM)
        return self.cautions[keys]


@contextmanager
def _left_out(what: str) -> Iterator[None]:
    try:
        yield
    except (ValueError, KeyError, TypeError, OverflowError):
        log.exception("%s could not be written and was left out of the calendars", what)


def timed(day: date, at: time, minutes: int, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """Return the half-open instants (UTC) of `minutes` from a local time.

    A time the clocks skip that day is read with the offset before the change, one they repeat as the first
    (RFC 5545 §3.3.5).
    """
    start = datetime.combine(day, at, tzinfo=zone).astimezone(UTC)
    return start, start + timedelta(minutes=minutes)


def _round_title(name: str, chores: int, took: int) -> str:
    title = {"morning": _("Morning round"), "midday": _("Midday round"), "evening": _("Evening round")}[name]
    many = ngettext("%d chore", "%d chores", chores) % chores
    return " · ".join([title, many, wordings.minutes(took)])
