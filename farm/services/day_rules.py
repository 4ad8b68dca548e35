"""Guards against a mistyped day."""

from __future__ import annotations

from datetime import date, timedelta

from django.utils.formats import date_format
from django.utils.translation import gettext as _

FAR_DAYS = 400  # project default (judgement): a guard against a mistyped year


def shown(day: date) -> str:
    """Return the day with its year, in the active language."""
    return date_format(day, "DATE_FORMAT")


def typo(day: date | None, today: date) -> list[object]:
    """Return the complaint about a day more than 400 days from today, or none."""
    if day is None or abs(day - today) <= timedelta(days=FAR_DAYS):
        return []
    return [_("%(day)s is more than a year away from today. Check the year.") % {"day": shown(day)}]
