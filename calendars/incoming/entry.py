"""One entry of somebody's calendar as its own text has it: when it starts, how long it takes, its rules. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Any

from dateutil.rrule import rrule, rrulestr
from icalendar import Event

#: How often an entry may come round: nobody's holidays begin every hour.
FREQUENCIES = frozenset({"DAILY", "WEEKLY", "MONTHLY", "YEARLY"})
_MIDNIGHT = time(0)


@dataclass(frozen=True, slots=True)
class Timed:
    """The start and length of an entry. start: on the clock of `zone`, which is None for whole days.

    exact: the length is elapsed time; else it is what the clock shows.
    """

    start: datetime
    length: timedelta
    zone: tzinfo | None
    exact: bool

    def at(self, start: datetime) -> tuple[date | datetime, date | datetime]:
        """Return start and end of an occurrence that begins at `start` on the entry's clock."""
        if self.zone is None:
            return start.date(), (start + self.length).date()
        begins = start.replace(tzinfo=self.zone)
        if self.exact:
            return begins, (begins.astimezone(UTC) + self.length).astimezone(self.zone)
        return begins, (start + self.length).replace(tzinfo=self.zone)


def timed(event: Event, floating: tzinfo) -> Timed:
    """Return when an entry takes place. floating: the zone of times without one. Raises ValueError and the like."""
    begins = got(event, "DTSTART").dt
    ends = got(event, "DTEND").dt if "DTEND" in event else None
    lasts = got(event, "DURATION").dt if "DURATION" in event else None
    if not isinstance(begins, datetime):
        if isinstance(ends, datetime) or (lasts is not None and lasts.seconds):
            raise ValueError("a whole day that ends at some hour")
        length = lasts if ends is None else ends - begins
        # Some programs give the day itself as the end of one day.
        return Timed(_wall(begins), max(length or timedelta(0), timedelta(days=1)), None, False)
    zone = begins.tzinfo or floating
    start = begins.replace(tzinfo=None)
    if ends is None:
        lasts = lasts or timedelta(0)
        return Timed(start, _forward(lasts), zone, exact=not lasts.days)
    if not isinstance(ends, datetime):
        raise ValueError("an hour that ends on some day")
    length = _instant(ends, zone) - _instant(begins, zone)
    return Timed(start, _forward(length), zone, exact=True)


def got(event: Event, name: str) -> Any:
    """Return a property as the library made it, several of it as a list, None without any."""
    return event.get(name)


def key_of(value: date | datetime, zone: tzinfo | None) -> date | datetime:
    """Return what tells one occurrence of an entry from the others: its day, or its instant."""
    return _instant(value, zone or UTC) if isinstance(value, datetime) else value


def wall_of(value: date | datetime, zone: tzinfo | None) -> datetime:
    """Return a day or instant on the clock of `zone`; on that of whole days, its day."""
    if not isinstance(value, datetime):
        return _wall(value)
    if zone is None:
        return _wall(value.date())
    return value.astimezone(zone).replace(tzinfo=None) if value.tzinfo else value


def rules(event: Event, when: Timed) -> list[tuple[rrule, datetime | None]]:
    """Return the rules by which an entry repeats, each with its end. Raises ValueError for one that is not followed."""
    if "EXRULE" in event:
        raise ValueError("a kind of rule nobody writes any more")
    return [_rule(dict(each), when) for each in listed(got(event, "RRULE"))]


def listed(value: Any) -> list[Any]:
    """Return a property that may be there once, several times or not at all as a list."""
    if value is None:
        return []
    return value if isinstance(value, list) else [value]


def dates(event: Event, name: str) -> list[date | datetime]:
    """Return the dates of all RDATE or EXDATE properties; of a period its start."""
    found = [each.dt for one in listed(got(event, name)) for each in one.dts]
    return [each[0] if isinstance(each, tuple) else each for each in found]


def _rule(parts: dict[str, list[Any]], when: Timed) -> tuple[rrule, datetime | None]:
    parts = {name.upper(): listed(value) for name, value in parts.items()}
    until = parts.pop("UNTIL", [None])[0]
    if str(parts["FREQ"][0]).upper() not in FREQUENCIES:
        raise ValueError("it repeats within a day")
    if any(int(each) < 1 for name in ("INTERVAL", "COUNT") for each in parts.get(name, ())):
        raise ValueError("it never gets on")
    if when.zone is None:  # hours of whole days mean nothing
        parts = {
            name: value for name, value in parts.items() if name not in ("BYHOUR", "BYMINUTE", "BYSECOND")
        }
    text = ";".join(f"{name}={','.join(map(str, value))}" for name, value in parts.items())
    found = rrulestr(text, dtstart=when.start)
    if not isinstance(found, rrule):
        raise ValueError("more than one rule")
    if until is None:
        return found, None
    last = _last(until, when)
    return found.replace(until=last), last


def _last(until: date | datetime, when: Timed) -> datetime:
    """Return the last instant at which an entry may begin, on its clock; a day is meant whole."""
    if when.zone is None or not isinstance(until, datetime):
        day = until.date() if isinstance(until, datetime) else until
        return datetime.combine(day, time(23, 59, 59))
    return wall_of(until, when.zone)


def _wall(day: date) -> datetime:
    return datetime.combine(day, _MIDNIGHT)


def _instant(value: datetime, zone: tzinfo) -> datetime:
    return (value if value.tzinfo else value.replace(tzinfo=zone)).astimezone(UTC)


def _forward(length: timedelta) -> timedelta:
    if length < timedelta(0):
        raise ValueError("it ends before it starts")
    return length
