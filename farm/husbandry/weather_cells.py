"""The cells of a weather table: which column is which, and what one cell says as a day or a temperature."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from farm import units
from farm.phrase import N_, Phrase, Quantity

Unit = Literal["C", "F"]

#: The coldest and warmest air ever measured, rounded outwards (from memory): beyond it is a slip of the hand.
COLDEST_C, WARMEST_C = -90.0, 57.0
#: Years a record may hold; anything else is a slip of the hand.
FIRST_YEAR, LAST_YEAR = 1800, 2200

_ISO = re.compile(r"(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?:[T ]\d{2}:\d{2}(?::\d{2}(?:\.\d+)?)?Z?)?", re.ASCII)
_COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})", re.ASCII)
_OTHER = re.compile(r"(\d{1,2})(?:\.\s?|[/-])(\d{1,2})(?:\.\s?|[/-])(\d{4})", re.ASCII)
_NO_YEAR = re.compile(r"\d{1,2}[-/. ]+(?:\d{1,2}|[^\W\d]+)\.?", re.ASCII)
_NUMBER = re.compile(r"([-+]?(?:\d+(?:[.,]\d*)?|[.,]\d+))\s*(?:°?\s*([CF]))?", re.ASCII | re.IGNORECASE)
#: What tables write where nothing was read.
_NOTHING = frozenset(
    {"", "-", "--", "na", "n/a", "nan", "null", "none", "m", "-99.9", "-999", "-9999", "9999"}
)
_DAY_WORDS = re.compile(r"date|day|datum|time")
_LOW_WORDS = re.compile(r"min(?!ut)|low|tn\b")
_HIGH_WORDS = re.compile(r"max|high|tx\b")
_NOT_AIR = re.compile(r"wind|gust|rain|prec|snow|hum|press|dew|soil|apparent|feels")
_SAYS_F = re.compile(r"fahrenheit|°\s*f|[\s_(\[]f[)\]]?$")
_SAYS_C = re.compile(r"celsius|°\s*c|[\s_(\[]c[)\]]?$")


class CellError(ValueError):
    """A cell that cannot be right; `phrase` says why."""

    def __init__(self, phrase: Phrase) -> None:
        self.phrase = phrase
        super().__init__(str(phrase))


@dataclass(frozen=True, slots=True)
class Columns:
    """Which cells of a row hold the day, the lowest and the highest temperature; unit: the one the headings name."""

    day: int
    low: int
    high: int
    unit: Unit | None = None


def headings(cells: Sequence[str]) -> Columns | None:
    """Return the columns a row of headings names, or None where it does not name all three."""
    words = [cell.strip().casefold() for cell in cells]

    def first(pattern: re.Pattern[str]) -> int | None:
        return next(
            (i for i, word in enumerate(words) if pattern.search(word) and not _NOT_AIR.search(word)), None
        )

    day, low, high = first(_DAY_WORDS), first(_LOW_WORDS), first(_HIGH_WORDS)
    if day is None or low is None or high is None or len({day, low, high}) < 3:
        return None
    named = (words[low], words[high])
    unit: Unit | None = None
    if all(_SAYS_F.search(word) for word in named):
        unit = "F"
    elif all(_SAYS_C.search(word) for word in named):
        unit = "C"
    return Columns(day, low, high, unit)


def day_first(text: str) -> bool | None:
    """Return whether a date like 31/12/2025 begins with the day, where it alone tells; None where it does not."""
    found = _OTHER.fullmatch(text)
    one, two = (int(found[1]) > 12, int(found[2]) > 12) if found and "." not in text else (False, False)
    return one if one != two else None


def two_ways(text: str) -> bool:
    """Return whether a date is one day or another, as it begins with the day or the month: 3/4/2025."""
    found = _OTHER.fullmatch(text)
    return bool(
        found and "." not in text and found[1] != found[2] and max(int(found[1]), int(found[2])) <= 12
    )


def day(text: str, first: bool) -> date:
    """Read a day: 2026-05-09, 20260509, 9.5.2026, or with slashes in the given order. Raises CellError."""
    found = _ISO.fullmatch(text) or _COMPACT.fullmatch(text)
    if found:
        year, month, number = (int(part) for part in found.groups()[:3])
    elif other := _OTHER.fullmatch(text):
        parts = [int(part) for part in other.groups()]
        year = parts[2]
        number, month = parts[:2] if first or "." in text else parts[1::-1]
    elif _NO_YEAR.fullmatch(text):
        raise CellError(Phrase(N_("“%(text)s” has no year. Write it like 2026-05-09."), {"text": text}))
    else:
        raise CellError(
            Phrase(N_("“%(text)s” is not a day. Write it like 2026-05-09."), {"text": _short(text)})
        )
    try:
        read = date(year, month, number)
    except ValueError:
        raise CellError(Phrase(N_("There is no such day as “%(text)s”."), {"text": text})) from None
    if not FIRST_YEAR <= read.year <= LAST_YEAR:
        raise CellError(Phrase(N_("The year of “%(text)s” cannot be right."), {"text": text}))
    return read


def number(text: str) -> tuple[float, Unit | None] | None:
    """Read a number with a point or a comma before its decimals, and the unit it names; None where nothing was read.

    Raises CellError for anything else.
    """
    plain = text.strip().replace("−", "-")
    if plain.casefold() in _NOTHING:
        return None
    found = _NUMBER.fullmatch(plain)
    if not found or len(plain) > 20:
        raise CellError(Phrase(N_("“%(text)s” is not a temperature."), {"text": _short(text)}))
    unit: Unit | None = None
    if found[2]:
        unit = "F" if found[2] in "fF" else "C"
    return float(found[1].replace(",", ".")), unit


def celsius(typed: tuple[float, Unit | None] | None, unit: Unit) -> float | None:
    """Return a typed temperature in °C; unit: of cells that name none. Raises CellError for one no air ever had."""
    if typed is None:
        return None
    value, own = typed
    if (own or unit) == "F":
        value = units.stored(value, "degC", units.US)
    if not COLDEST_C <= value <= WARMEST_C:
        text = N_("%(read)s cannot be right. Check the number and its unit.")
        raise CellError(Phrase(text, {"read": Quantity(value, "degC")}))
    return value


def _short(text: str) -> str:
    return text if len(text) <= 40 else text[:39] + "…"
