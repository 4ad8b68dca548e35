"""An IANA zone as a compact VTIMEZONE (RFC 5545 §3.6.5): two rules that never end, where the zone has rules.

icalendar can write time zones too, as lists of dates up to 2038; a widely used calendar engine then reads
every summer time an hour wrong. The rules here are read off the zone's own transitions, so that whatever the
time zone database says (southern summers, last Sundays, Saturdays before them, zones that gave clock changes
up) is what is written.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from functools import lru_cache
from itertools import groupby
from zoneinfo import ZoneInfo

FIRST_YEAR = 1970
#: A rule must hold for this many years after the first year asked for to count as the zone's standing rule.
AHEAD_YEARS = 26
_WEEKDAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")


@dataclass(frozen=True, slots=True)
class Change:
    """One change of a zone's clocks. wall: local time just before it; offsets are those before and after."""

    wall: datetime
    before: timedelta
    after: timedelta
    name: str
    summer: bool

    @property
    def kind(self) -> tuple[timedelta, timedelta, int, int, str]:
        """Return what changes of the same yearly rule have in common."""
        time = self.wall - self.wall.replace(hour=0, minute=0, second=0)
        return (
            self.before,
            self.after,
            self.wall.month * 7 + self.wall.weekday(),
            int(time.total_seconds()),
            self.name,
        )


@lru_cache(maxsize=256)
def vtimezone(zone: str, first_year: int) -> bytes:
    """Return the VTIMEZONE of `zone`, right from 1 January of `first_year` on.

    Standing yearly rules come as one open RRULE each, valid in 2039 as today; irregular changes of the next
    AHEAD_YEARS as single dates. Raises zoneinfo.ZoneInfoNotFoundError.
    """
    changes = _changes(ZoneInfo(zone), FIRST_YEAR, first_year + AHEAD_YEARS)
    runs, single = _standing(changes, first_year + AHEAD_YEARS)
    lines = ["BEGIN:VTIMEZONE", f"TZID:{zone}"]
    start = datetime(first_year, 1, 1)  # noqa: DTZ001 (a wall time: the zone is what is being said)
    if not runs or any(run[0].wall >= start for run, _ in runs) or not _both_ways(runs):
        lines += _base(ZoneInfo(zone), start)
    for change in single:
        if change.wall > start:
            lines += _observance(change)
    for run, rule in runs:
        lines += _observance(run[0], rule)
    return "".join(f"{line}\r\n" for line in [*lines, "END:VTIMEZONE"]).encode()


def _changes(zone: ZoneInfo, first_year: int, last_year: int) -> list[Change]:
    found: list[Change] = []
    at, step, end = (
        datetime(first_year, 1, 1, tzinfo=UTC),
        timedelta(days=1),
        datetime(last_year + 1, 1, 1, tzinfo=UTC),
    )
    offset = at.astimezone(zone).utcoffset()
    while at < end:
        after = (at + step).astimezone(zone).utcoffset()
        if after != offset:
            found.append(_change(zone, at, at + step))
        at, offset = at + step, after
    return found


def _change(zone: ZoneInfo, low: datetime, high: datetime) -> Change:
    """Return the change between two instants, found to the second by halving."""
    before = low.astimezone(zone).utcoffset() or timedelta()
    while high - low > timedelta(seconds=1):
        middle = low + timedelta(seconds=(high - low) // timedelta(seconds=1) // 2)
        if middle.astimezone(zone).utcoffset() == before:
            low = middle
        else:
            high = middle
    local = high.astimezone(zone)
    after = local.utcoffset() or timedelta()
    wall = (high + before).replace(tzinfo=None)
    return Change(
        wall, before, after, local.tzname() or zone.key, summer=bool(local.dst()) and after > before
    )


def _standing(changes: list[Change], last_year: int) -> tuple[list[tuple[list[Change], str]], list[Change]]:
    """Split changes into runs of one rule that reach the last year, each with its RRULE, and the rest in
    order.
    """
    runs: list[tuple[list[Change], str]] = []
    taken: set[int] = set()
    for _, group in groupby(sorted(changes, key=lambda c: (c.kind, c.wall)), key=lambda c: c.kind):
        run = _tail(list(group), last_year)
        rule = _rule(run)
        if rule:
            runs.append((run, rule))
            taken.update(map(id, run))
    runs.sort(key=lambda pair: pair[0][0].wall)
    return runs, [change for change in changes if id(change) not in taken]


def _tail(group: list[Change], last_year: int) -> list[Change]:
    """Return the unbroken yearly part of `group` that ends in the last year, as far back as one rule covers
    it.
    """
    run: list[Change] = []
    for change in reversed(group):
        if change.wall.year != last_year - len(run) or (len(run) >= 7 and not _rule([change, *run])):
            break
        run.insert(0, change)
    return run if len(run) >= 7 else []


def _rule(run: Iterable[Change]) -> str:
    """Return the RRULE of changes in the same month on the same weekday, "" when no rule says them all."""
    run = list(run)
    if not run:
        return ""
    days = [change.wall.day for change in run]
    month, weekday = run[0].wall.month, _WEEKDAYS[run[0].wall.weekday()]
    base = f"FREQ=YEARLY;BYMONTH={month}"
    if all((change.wall + timedelta(days=7)).month != month for change in run):
        return f"{base};BYDAY=-1{weekday}"
    nth = {(day + 6) // 7 for day in days}
    if len(nth) == 1:
        return f"{base};BYDAY={nth.pop()}{weekday}"
    if max(days) - min(days) <= 6:
        window = ",".join(str(day) for day in range(min(days), min(days) + 7))
        return f"{base};BYMONTHDAY={window};BYDAY={weekday}"
    return ""


def _both_ways(runs: list[tuple[list[Change], str]]) -> bool:
    return {run[0].after for run, _ in runs} == {run[0].before for run, _ in runs}


def _base(zone: ZoneInfo, start: datetime) -> list[str]:
    """Return the observance in force at the start: without it, earlier times would be anyone's guess."""
    local = start.replace(tzinfo=zone)
    offset = local.utcoffset() or timedelta()
    return _observance(Change(start, offset, offset, local.tzname() or zone.key, summer=bool(local.dst())))


def _observance(change: Change, rule: str = "") -> list[str]:
    part = "DAYLIGHT" if change.summer else "STANDARD"
    lines = [f"BEGIN:{part}", f"DTSTART:{change.wall:%Y%m%dT%H%M%S}"]
    lines += [f"RRULE:{rule}"] if rule else []
    lines += [f"TZOFFSETFROM:{_offset(change.before)}", f"TZOFFSETTO:{_offset(change.after)}"]
    return [*lines, f"TZNAME:{change.name}", f"END:{part}"]


def _offset(offset: timedelta) -> str:
    seconds = int(offset.total_seconds())
    sign, seconds = ("-" if seconds < 0 else "+"), abs(seconds)
    text = f"{sign}{seconds // 3600:02}{seconds % 3600 // 60:02}"
    return text + (f"{seconds % 60:02}" if seconds % 60 else "")
