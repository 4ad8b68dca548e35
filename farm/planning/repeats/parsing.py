"""Rules as RFC 5545 writes them ("FREQ=WEEKLY;INTERVAL=2;BYDAY=MO,TH"), read strictly."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date

from farm.phrase import N_, Phrase, Value
from farm.planning.repeats.dated import first_day
from farm.planning.repeats.rule import TEXT_MOST, Freq, Repeat, RepeatError

DAYS = ("MO", "TU", "WE", "TH", "FR", "SA", "SU")
_NAMES = ("FREQ", "INTERVAL", "BYDAY", "BYMONTHDAY", "UNTIL", "COUNT", "WKST")
_FREQS: Mapping[str, Freq] = {"DAILY": "daily", "WEEKLY": "weekly", "MONTHLY": "monthly"}
_NTH = re.compile(r"([+-]?\d)([A-Z]{2})", re.ASCII)


def parse(text: str, start: date | None = None) -> Repeat:
    """Return the rule that is written in `text`.

    start: where it will begin; a rule that has no day from there on is refused too. Raises RepeatError, saying what is
    wrong and what would be right.
    """
    if len(text) > TEXT_MOST:
        raise RepeatError(
            N_("A rule has at most %(most)d characters, this one has %(length)d"),
            most=TEXT_MOST,
            length=len(text),
        )
    parts = _parts(text.strip().upper().removeprefix("RRULE:"))
    freq = _freq(parts)
    nth, weekdays = _weekdays(freq, parts)
    interval = _whole(parts, "INTERVAL", "2")
    _check_week_start(parts, freq == "weekly" and bool(weekdays) and interval not in (None, 1))
    repeat = Repeat(
        freq,
        1 if interval is None else interval,
        weekdays,
        _whole(parts, "BYMONTHDAY", Phrase(N_("15, or -1 for the last day"))),
        nth,
        _until(parts),
        _whole(parts, "COUNT", "10"),
    )
    if start is not None:
        first_day(repeat, start)
    return repeat


def _parts(text: str) -> dict[str, str]:
    if not text:
        raise RepeatError(N_("Write how it repeats, such as FREQ=WEEKLY;BYDAY=MO"))
    found: dict[str, str] = {}
    for part in text.split(";"):
        name, equals, value = part.partition("=")
        if not (name and equals and value):
            raise RepeatError(N_("“%(part)s” is not a name and a value, such as INTERVAL=2"), part=part)
        if name not in _NAMES:
            raise RepeatError(
                N_("%(name)s is not used here; use FREQ, INTERVAL, BYDAY, BYMONTHDAY, UNTIL or COUNT"),
                name=name,
            )
        if name in found:
            raise RepeatError(N_("%(name)s stands there twice; keep one"), name=name)
        found[name] = value
    return found


def _freq(parts: Mapping[str, str]) -> Freq:
    said = parts.get("FREQ", "")
    if said in _FREQS:
        return _FREQS[said]
    if said in ("SECONDLY", "MINUTELY", "HOURLY"):
        raise RepeatError(
            N_("A chore comes once a day at most: use FREQ=DAILY, and one chore for each part of the day")
        )
    if said == "YEARLY":
        raise RepeatError(N_("Write FREQ=MONTHLY;INTERVAL=12 for once a year"))
    raise RepeatError(N_("Say how often: FREQ=DAILY, FREQ=WEEKLY or FREQ=MONTHLY"))


def _whole(parts: Mapping[str, str], name: str, example: Value) -> int | None:
    """Return a whole number as written, None where the part is absent; its limits are the rule's."""
    said = parts.get(name)
    if said is None:
        return None
    digits = said[1:] if said[0] in "+-" else said
    if not (digits.isascii() and digits.isdigit()):
        raise RepeatError(
            N_("%(name)s must be one whole number, such as %(example)s, not “%(said)s”"),
            name=name,
            example=example,
            said=said,
        )
    return int(said)


def _weekdays(freq: Freq, parts: Mapping[str, str]) -> tuple[tuple[int, int] | None, tuple[int, ...]]:
    """Return the weekday of a month, and the weekdays of a week; a rule has one or the other, or none."""
    said = parts.get("BYDAY")
    if said is None:
        return None, ()
    if freq == "daily":
        raise RepeatError(N_("Some days of every week are FREQ=WEEKLY with BYDAY, not FREQ=DAILY"))
    if freq == "weekly":
        if unknown := [day for day in said.split(",") if day not in DAYS]:
            raise RepeatError(
                N_("BYDAY lists days of the week as MO, TU, WE, TH, FR, SA, SU, not “%(said)s”"),
                said=unknown[0],
            )
        return None, tuple(DAYS.index(day) for day in said.split(","))
    found = _NTH.fullmatch(said)
    if found is None or found[2] not in DAYS:
        raise RepeatError(
            N_(
                "Of a month, BYDAY is one weekday with its number, such as 2TU, or -1TU for the last, not “%(said)s”"
            ),
            said=said,
        )
    return (int(found[1]), DAYS.index(found[2])), ()


def _check_week_start(parts: Mapping[str, str], matters: bool) -> None:
    """Refuse another first day of the week than Monday where it would change which days fit."""
    said = parts.get("WKST", "MO")
    if said not in DAYS or (matters and said != "MO"):
        raise RepeatError(N_("Weeks begin on Monday here: write WKST=MO or leave it out"))


def _until(parts: Mapping[str, str]) -> date | None:
    said = parts.get("UNTIL")
    if said is None:
        return None
    wrong = RepeatError(N_("UNTIL is a day without a time, such as 20310504, not “%(said)s”"), said=said)
    if not re.fullmatch(r"\d{8}", said, re.ASCII):
        raise wrong
    try:
        return date(int(said[:4]), int(said[4:6]), int(said[6:]))
    except ValueError:
        raise wrong from None
