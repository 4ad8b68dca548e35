"""What is asked of somebody's own calendar, and what was found in it. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from zoneinfo import ZoneInfo

#: Days [start, end).
Span = tuple[date, date]


class Unreadable(Exception):
    """Nothing could be taken from a calendar. why: a key of `words.WHY`; nothing of its content is in it."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


@dataclass(frozen=True, slots=True)
class Rules:
    """Which entries count.

    least_hours: entries with times count from that many hours on, when they cover the beginning of a round; None: only
    whole days count. words: the title must hold one of them, none: any title. without: it must hold none of these.
    """

    least_hours: int | None = None
    words: tuple[str, ...] = ()
    without: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """A question to a calendar: its rules, for the days [first, last) of a farm's zone.

    rounds: by weekday, Monday 0, the times of day at which the member's rounds begin.
    """

    first: date
    last: date
    zone: ZoneInfo
    rounds: tuple[tuple[time, ...], ...]
    rules: Rules = Rules()


@dataclass(frozen=True, slots=True)
class Occurrence:
    """One time an entry takes place: whole days [start, end), or instants with a zone."""

    title: str
    start: date | datetime
    end: date | datetime

    def days(self, zone: ZoneInfo) -> Span:
        """Return its first day and its last, which it has a part of, in a zone."""
        if isinstance(self.start, datetime) and isinstance(self.end, datetime):
            start, end = self.start.astimezone(zone), self.end.astimezone(zone)
            if end > start:  # until midnight is not the next day
                end -= timedelta(microseconds=1)
            return start.date(), max(start, end).date()
        return self.start, max(self.start, self.end - timedelta(days=1))


@dataclass(frozen=True, slots=True)
class Entry:
    """An occurrence as people are shown it. first, last: its days, the last one included. counts: makes days away."""

    title: str
    first: date
    last: date
    counts: bool


@dataclass(frozen=True, slots=True)
class Reading:
    """What a calendar says for the days asked about.

    spans: days away, in order, none touching the next. entries: the first of them all. left: how many more there are.
    skipped: entries that could not be read.
    """

    spans: tuple[Span, ...] = ()
    entries: tuple[Entry, ...] = ()
    left: int = 0
    skipped: int = 0


def to_json(asked: Asked) -> dict[str, Any]:
    """Return a question as JSON values."""
    return {
        "first": asked.first.isoformat(),
        "last": asked.last.isoformat(),
        "zone": asked.zone.key,
        "rounds": [[each.isoformat() for each in day] for day in asked.rounds],
        "rules": [asked.rules.least_hours, list(asked.rules.words), list(asked.rules.without)],
    }


def from_json(values: dict[str, Any]) -> Asked:
    """Return the question `to_json` wrote."""
    hours, words, without = values["rules"]
    return Asked(
        first=date.fromisoformat(values["first"]),
        last=date.fromisoformat(values["last"]),
        zone=ZoneInfo(values["zone"]),
        rounds=tuple(tuple(time.fromisoformat(each) for each in day) for day in values["rounds"]),
        rules=Rules(hours, tuple(words), tuple(without)),
    )


def reading_json(reading: Reading) -> dict[str, Any]:
    """Return a reading as JSON values."""
    return {
        "spans": [[start.isoformat(), end.isoformat()] for start, end in reading.spans],
        "entries": [[e.title, e.first.isoformat(), e.last.isoformat(), e.counts] for e in reading.entries],
        "left": reading.left,
        "skipped": reading.skipped,
    }


def reading_of(values: dict[str, Any]) -> Reading:
    """Return the reading `reading_json` wrote. Raises ValueError, KeyError or TypeError for anything else."""
    day = date.fromisoformat
    return Reading(
        spans=tuple((day(start), day(end)) for start, end in values["spans"]),
        entries=tuple(Entry(str(t), day(a), day(b), bool(c)) for t, a, b, c in values["entries"]),
        left=int(values["left"]),
        skipped=int(values["skipped"]),
    )
