"""Phrases in words: the language of the moment and the farm's units, in one place for every face."""

from __future__ import annotations

from datetime import date

from django.utils.formats import date_format, number_format
from django.utils.translation import gettext, ngettext

from farm import units
from farm.phrase import Phrase, Quantity, Value


def say(phrase: Phrase, system: str = units.METRIC) -> str:
    """Return `phrase` in the active language, its quantities in `system` ("metric" or "us")."""
    if phrase.count:
        count = phrase.values[phrase.count]
        assert isinstance(count, int), "a plural counts whole things"
        text = ngettext(phrase.text, phrase.plural, count)
    else:
        text = gettext(phrase.text)
    if not phrase.values:
        return text
    return text % {name: word(value, system) for name, value in phrase.values.items()}


def word(value: Value, system: str = units.METRIC) -> str | int:
    """Return one value as a keeper of that unit system reads it; whole numbers stay numbers for %d."""
    if isinstance(value, int):
        return value
    if isinstance(value, Phrase):
        return say(value, system)
    if isinstance(value, Quantity):
        return quantity(value, system)
    if isinstance(value, date):
        return day(value)
    if isinstance(value, float):
        return number_format(round(value, 2), use_l10n=True)
    return str(value)


def quantity(value: Quantity, system: str = units.METRIC) -> str:
    """Return a number with its unit: "0.6 m²", "6.5 ft²"; a bare one without."""
    shown, label = units.shown(value, system)
    number = number_format(round(shown, value.digits), decimal_pos=value.digits, use_l10n=True)
    return number if value.bare else f"{number} {label}"


def day(value: date) -> str:
    """Return a day without its year: "9 May" in English; the language decides the order."""
    return date_format(value, "MONTH_DAY_FORMAT", use_l10n=True)
