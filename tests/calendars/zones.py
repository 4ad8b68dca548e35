"""A VTIMEZONE read after RFC 5545 §3.6.5 with nothing but the standard library: which offset holds at a local time."""

from __future__ import annotations

from calendar import monthrange
from datetime import datetime, timedelta

WEEKDAYS = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"]


def offset_at(octets: bytes, wall: datetime) -> timedelta:
    """Return the offset in force at a local time: that of the latest onset not after it."""
    onsets = [onset for part in _parts(octets) for onset in _onsets(part, wall)]
    return max(onsets)[1] if onsets else timedelta(days=99)


def _parts(octets: bytes) -> list[dict[str, str]]:
    parts: list[dict[str, str]] = []
    for line in octets.decode().split("\r\n"):
        name, _, value = line.partition(":")
        if name == "BEGIN" and value in ("STANDARD", "DAYLIGHT"):
            parts.append({})
        elif parts and name not in ("BEGIN", "END"):
            parts[-1][name] = value
    return parts


def _onsets(part: dict[str, str], wall: datetime) -> list[tuple[datetime, timedelta]]:
    first, after = datetime.strptime(part["DTSTART"], "%Y%m%dT%H%M%S"), _offset(part["TZOFFSETTO"])
    if "RRULE" not in part:
        return [(first, after)] if first <= wall else []
    rule = dict(piece.split("=") for piece in part["RRULE"].split(";"))
    days = [_day(rule, year) for year in range(max(first.year, wall.year - 1), wall.year + 1)]
    found = [datetime.combine(day, first.time()) for day in days]
    return [(onset, after) for onset in found if first <= onset <= wall]


def _day(rule: dict[str, str], year: int) -> datetime:
    month, day = int(rule["BYMONTH"]), rule["BYDAY"]
    nth, weekday = day[:-2], WEEKDAYS.index(day[-2:])
    dates = [datetime(year, month, number + 1) for number in range(monthrange(year, month)[1])]
    dates = [found for found in dates if found.weekday() == weekday]
    if "BYMONTHDAY" in rule:
        wanted = set(map(int, rule["BYMONTHDAY"].split(",")))
        (only,) = [found for found in dates if found.day in wanted]
        return only
    return dates[int(nth) - (int(nth) > 0)]


def _offset(text: str) -> timedelta:
    sign = -1 if text[0] == "-" else 1
    return sign * timedelta(hours=int(text[1:3]), minutes=int(text[3:5]), seconds=int(text[5:7] or 0))
