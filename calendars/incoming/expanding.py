"""Somebody's calendar as single occurrences within some days, bounded in every direction. Pure.

What can't be read is skipped and counted: one odd entry must not hide a school year.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta

from icalendar import Calendar, Event

from calendars.incoming import bounds
from calendars.incoming.budget import Budget
from calendars.incoming.entry import Timed, dates, got, key_of, rules, timed, wall_of
from calendars.incoming.records import Asked, Occurrence, Unreadable

#: Occurrences within the days asked about: project default (judgement).
MOST_OCCURRENCES = 5_000
_ODD = (ValueError, TypeError, KeyError, AttributeError, ArithmeticError, LookupError)
#: The clocks of two zones are never further apart, summer time included.
_APART = timedelta(days=2)


@dataclass(slots=True)
class _Replacement:
    """One occurrence, or all from it on (`onward`), told otherwise than its entry says."""

    event: Event
    when: Timed
    instead_of: datetime  # on the clock of the entry it replaces
    onward: bool


@dataclass(slots=True)
class _Series:
    """All components of one UID."""

    whole: Event | None = None
    parts: list[Event] = field(default_factory=list)


def occurrences(octets: bytes, asked: Asked) -> tuple[list[Occurrence], int]:
    """Return what takes place within the days asked about, and how many entries could not be read.

    Raises Unreadable for what is no calendar, or one too large.
    """
    bounds.check(octets)
    try:
        calendar = Calendar.from_ical(octets)
    except _ODD as error:
        raise Unreadable("calendar") from error
    assert isinstance(calendar, Calendar)
    found: list[Occurrence] = []
    skipped, budget = 0, Budget()
    for series in _series(calendar):
        try:
            here = list(_expanded(series, asked, budget))
        except _ODD:
            skipped += 1
            continue
        found += here
        if len(found) > MOST_OCCURRENCES:
            raise Unreadable("many")
    return found, skipped


def _series(calendar: Calendar) -> list[_Series]:
    found: dict[str, _Series] = {}
    for number, event in enumerate(calendar.walk("VEVENT")):
        assert isinstance(event, Event)
        series = found.setdefault(str(event.get("UID") or f"\0{number}"), _Series())
        if "RECURRENCE-ID" in event:
            series.parts.append(event)
        elif series.whole is None or _sequence(event) >= _sequence(series.whole):
            series.whole = event
    return list(found.values())


def _expanded(series: _Series, asked: Asked, budget: Budget) -> Iterator[Occurrence]:
    whole = series.whole
    when = timed(whole, asked.zone) if whole is not None else None
    parts = _replacements(series.parts, when, asked)
    for part in parts.values():
        yield from _within(part.event, part.when, part.when.start, asked)
    if whole is None or when is None:
        return
    onward = sorted((each for each in parts.values() if each.onward), key=lambda each: each.instead_of)
    for start in _starts(whole, when, asked, budget):
        if start in parts:
            continue
        led = [each for each in onward if each.instead_of <= start]
        if led:
            moved = led[-1].when.start + (start - led[-1].instead_of)
            yield from _within(led[-1].event, led[-1].when, moved, asked)
        else:
            yield from _within(whole, when, start, asked)


def _replacements(events: Iterable[Event], when: Timed | None, asked: Asked) -> dict[datetime, _Replacement]:
    """Return the replacements of an entry, the latest word on each, by what they replace."""
    found: dict[datetime, _Replacement] = {}
    for event in sorted(events, key=_sequence):
        own = timed(event, asked.zone)
        original = got(event, "RECURRENCE-ID")
        at = wall_of(original.dt, when.zone if when else own.zone)
        if when and when.zone and not isinstance(original.dt, datetime):  # only the day is named
            at = datetime.combine(original.dt, when.start.time())
        onward = str(original.params.get("RANGE", "")).upper() == "THISANDFUTURE"
        found[at] = _Replacement(event, own, at, onward)
    return found


def _starts(event: Event, when: Timed, asked: Asked, budget: Budget) -> list[datetime]:
    """Return when an entry begins, on its own clock, in order, up to the end of the days asked about."""
    until = datetime.combine(asked.last, datetime.min.time()) + _APART
    repeats = rules(event, when)
    # Rules that end before they begin: so some programs write an entry that is deleted for good.
    ended = bool(repeats) and all(last is not None and last < when.start for _rule, last in repeats)
    found = {when.start} if when.start < until and not ended else set()
    for rule, _last in repeats:
        found |= set(budget.walk(rule, until))
    found |= set(budget.walk(sorted(wall_of(each, when.zone) for each in dates(event, "RDATE")), until))
    gone = {key_of(each, when.zone or asked.zone) for each in dates(event, "EXDATE")}
    return [each for each in sorted(found) if each.date() not in gone and _key(each, when) not in gone]


def _key(start: datetime, when: Timed) -> date | datetime:
    return start.date() if when.zone is None else key_of(start.replace(tzinfo=when.zone), when.zone)


def _within(event: Event, when: Timed, start: datetime, asked: Asked) -> Iterator[Occurrence]:
    """Yield one occurrence if it has a day within those asked about and was not called off."""
    if str(event.get("STATUS", "")).upper() == "CANCELLED":
        return
    one = Occurrence(str(event.get("SUMMARY", "")), *when.at(start))
    first, last = one.days(asked.zone)
    if first < asked.last and last >= asked.first:
        yield one


def _sequence(event: Event) -> int:
    try:
        return int(got(event, "SEQUENCE") or 0)
    except (TypeError, ValueError):
        return 0
