"""Which occurrences of somebody's calendar make days away, and the days they make. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta

from calendars.ics.text import clean
from calendars.incoming.records import Asked, Entry, Occurrence, Reading, Span

#: As many entries are shown on a page: project default (judgement)
MOST_SHOWN = 100
_DAY = timedelta(days=1)


def read(occurrences: Iterable[Occurrence], asked: Asked, skipped: int = 0) -> Reading:
    """Return the days away that occurrences make within the days asked about, and the occurrences themselves."""
    away: set[date] = set()
    entries: list[Entry] = []
    for one in occurrences:
        found = days_of(one, asked)
        away |= found
        first, last = one.days(asked.zone)
        entries.append(Entry(clean(one.title, 200, lines=False), first, last, bool(found)))
    entries.sort(key=lambda each: (not each.counts, each.first, each.last, each.title))
    return Reading(spans(away), tuple(entries[:MOST_SHOWN]), max(len(entries) - MOST_SHOWN, 0), skipped)


def days_of(one: Occurrence, asked: Asked) -> set[date]:
    """Return the days within those asked about that an occurrence makes days away."""
    if not _named(one.title, asked):
        return set()
    first, last = one.days(asked.zone)
    days = _between(max(first, asked.first), min(last + _DAY, asked.last))
    if not isinstance(one.start, datetime) or not isinstance(one.end, datetime):
        return set(days)
    hours = asked.rules.least_hours
    if hours is None or one.end.timestamp() - one.start.timestamp() < hours * 3600:
        return set()
    return {day for day in days if _covers_a_round(one.start, one.end, day, asked)}


def spans(days: Iterable[date]) -> tuple[Span, ...]:
    """Return days as spans [start, end), in order, none touching the next."""
    found: list[Span] = []
    for day in sorted(set(days)):
        if found and found[-1][1] == day:
            found[-1] = (found[-1][0], day + _DAY)
        else:
            found.append((day, day + _DAY))
    return tuple(found)


def _between(start: date, end: date) -> list[date]:
    return [start + n * _DAY for n in range(max((end - start).days, 0))]


def _covers_a_round(start: datetime, end: datetime, day: date, asked: Asked) -> bool:
    begins = [datetime.combine(day, at, asked.zone).timestamp() for at in asked.rounds[day.weekday()]]
    return any(start.timestamp() <= each < end.timestamp() for each in begins)


def _named(title: str, asked: Asked) -> bool:
    said = title.casefold()
    rules = asked.rules
    return _any(rules.words, said, empty=True) and not _any(rules.without, said, empty=False)


def _any(words: Sequence[str], said: str, *, empty: bool) -> bool:
    return any(word.casefold() in said for word in words) if words else empty
