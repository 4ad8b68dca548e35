"""One cell at a time: what was typed, as a value the farm stores, or why that cannot be.

Every reader takes the text (never blank) and returns the value; it raises CellError in a keeper's words.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Mapping
from datetime import date

from django.utils.translation import gettext as _

from farm import units

Reader = Callable[[str], object]

_NUMBER = re.compile(r"^([-+]?[\d.,\s  ]+?)\s*([^\d\s.,].*)?$")
_ISO = r"(?P<y>\d{4})-(?P<m>\d{1,2})-(?P<d>\d{1,2})(?:[T ]00:00(?::00)?)?"
_POINTS = r"(?P<d>\d{1,2})\.\s?(?P<m>\d{1,2})\.\s?(?P<y>\d{4})"
_SLASHES = r"(?P<d>\d{1,2})/(?P<m>\d{1,2})/(?P<y>\d{4})"
_SLASHES_US = r"(?P<m>\d{1,2})/(?P<d>\d{1,2})/(?P<y>\d{4})"
_YES = frozenset({"yes", "y", "true", "1", "x", "on", "✓", "ja", "oui", "si", "sí"})
_NO = frozenset({"no", "n", "false", "0", "-", "off", "nein", "non"})
#: What a unit may be called, by the system and SI unit it belongs to.
UNIT_NAMES: Mapping[str, tuple[str, str]] = {
    "m2": ("metric", "m2"),
    "sqm": ("metric", "m2"),
    "ft2": ("us", "m2"),
    "sqft": ("us", "m2"),
    "cm": ("metric", "cm"),
    "in": ("us", "cm"),
    "inch": ("us", "cm"),
    "inches": ("us", "cm"),
}


class CellError(ValueError):
    """A cell that cannot be right; its text says why."""


def number(text: str) -> float:
    """Read a number with a point or a comma before its decimals."""
    plain = re.sub(r"[\s  ]", "", text)
    if re.fullmatch(r"[-+]?[1-9]\d{0,2}[.,]\d{3}", plain) and "," in plain:
        raise CellError(_("“%(text)s” can be read two ways. Write it without the comma.") % {"text": text})
    if "," in plain and "." in plain:
        raise CellError(_("“%(text)s” can be read two ways. Leave the thousands mark out.") % {"text": text})
    try:
        value = float(plain.replace(",", "."))
    except ValueError:
        value = math.nan
    if not math.isfinite(value) or not re.fullmatch(r"[-+]?\d*[.,]?\d*", plain):
        raise CellError(_("“%(text)s” is not a number.") % {"text": text})
    return value


def whole(low: int, high: int) -> Reader:
    """Return a reader of whole numbers from `low` to `high`."""

    def read(text: str) -> int:
        value = number(text)
        if value != int(value) or not low <= value <= high:
            raise CellError(_("Enter a whole number from %(low)d to %(high)d.") % {"low": low, "high": high})
        return int(value)

    return read


def quantity(unit: str, system: str, low: float, high: float) -> Reader:
    """Return a reader of quantities typed in `system` unless they name a unit themselves; values and bounds are SI."""

    def read(text: str) -> float:
        parts = _NUMBER.match(text)
        typed, named = (parts.group(1), parts.group(2)) if parts else (text, None)
        used = system
        if named:
            known = UNIT_NAMES.get(unit_name(named))
            if known is None or known[1] != unit:
                raise CellError(
                    _("“%(text)s” is not in %(unit)s.") % {"text": text, "unit": units.label(unit, system)}
                )
            used = known[0]
        value = units.stored(number(typed), unit, used)
        if not low <= value <= high:
            raise CellError(
                _("%(text)s cannot be right here. Check the number and its unit.") % {"text": text}
            )
        return value

    return read


def unit_name(text: str) -> str:
    """Return a unit as `UNIT_NAMES` spells it: "sq. ft" and "ft²" are ft2."""
    plain = re.sub(r"[^a-z0-9]", "", text.casefold().replace("²", "2"))
    return {"squarefeet": "ft2", "squaremetres": "m2", "squaremeters": "m2", "sqft": "ft2"}.get(plain, plain)


def day(system: str) -> Reader:
    """Return a reader of days: 2026-05-09, 9.5.2026, or with slashes in the farm's order."""

    def read(text: str) -> date:
        for pattern in (_ISO, _POINTS, _SLASHES_US if system == units.US else _SLASHES):
            found = re.fullmatch(pattern, text, re.ASCII)
            if found:
                try:
                    return date(int(found["y"]), int(found["m"]), int(found["d"]))
                except ValueError:
                    break
        raise CellError(_("“%(text)s” is not a day. Write it like 2026-05-09.") % {"text": text})

    return read


def yes_no(text: str) -> bool:
    """Read yes or no."""
    plain = text.casefold()
    if plain in _YES:
        return True
    if plain in _NO:
        return False
    raise CellError(_("Write yes or no."))


def words(most: int) -> Reader:
    """Return a reader of texts no longer than `most` letters."""

    def read(text: str) -> str:
        if len(text) > most:
            raise CellError(_("This is too long: %(most)d letters at most.") % {"most": most})
        return text

    return read


def one_of(known: Mapping[str, object], shown: str) -> Reader:
    """Return a reader of one of the known words, by small letters. shown: the words to offer when it is none."""

    def read(text: str) -> object:
        plain = " ".join(text.casefold().replace("_", " ").split())
        for word in (text.casefold(), plain):
            if word in known:
                return known[word]
        raise CellError(
            _("“%(text)s” is not known here. Write one of: %(words)s.") % {"text": text, "words": shown}
        )

    return read


def several_of(known: Mapping[str, object], shown: str) -> Reader:
    """Return a reader of several known words parted by commas, semicolons, slashes or "and"."""
    one = one_of(known, shown)

    def read(text: str) -> list[object]:
        parts = [part for part in re.split(r"[,;/+]|\band\b", text) if part.strip()]
        found = [one(part.strip()) for part in parts]
        return list(dict.fromkeys(found))

    return read
