"""Ages as keepers type them: "8 weeks", "8 w", "56 days", "56"; cleaned to whole days."""

from __future__ import annotations

import re
from typing import Any

from django import forms
from django.utils.translation import gettext, ngettext
from django.utils.translation import gettext_lazy as _

from farm.planning.allotments.reasons import DAYS_A_WEEK

_PART = re.compile(r"(\d{1,4})\s*([^\W\d_]*)\.?\s*,?\s*")
OLDEST_DAYS = 400  # as the records allow


class AgeField(forms.CharField):
    """An age in weeks, days or both; a number alone is days."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(max_length=30, **kwargs)

    def clean(self, value: Any) -> int | None:
        """Return the age in days, None when empty."""
        text = super().clean(value)
        return read(text) if text else None

    def prepare_value(self, value: Any) -> Any:
        """Show stored days in whole weeks where they are some; text that was typed stays as it was typed."""
        return shown(value) if isinstance(value, int) else value


def read(text: str) -> int:
    """Return a typed age in days. Raises ValidationError."""
    typed = text.strip().casefold()
    if typed in _day_old():
        return 0
    parts = _PART.findall(typed)
    whole = bool(parts) and _PART.sub("", typed) == ""
    factors = [_factor(unit, alone=len(parts) == 1) for _number, unit in parts]
    if not whole or None in factors:
        raise forms.ValidationError(_("Write weeks or days: “8 weeks”, “56 days” or “56”."))
    days = sum(int(number) * (factor or 0) for (number, _unit), factor in zip(parts, factors, strict=True))
    if days > OLDEST_DAYS:
        raise forms.ValidationError(_("At most %(most)d days.") % {"most": OLDEST_DAYS})
    return days


def shown(days: int) -> str:
    """Return an age as a keeper would type it: "8 weeks", "10 days"."""
    if days and days % DAYS_A_WEEK == 0:
        weeks = days // DAYS_A_WEEK
        return ngettext("%(n)d week", "%(n)d weeks", weeks) % {"n": weeks}
    return ngettext("%(n)d day", "%(n)d days", days) % {"n": days}


def span(youngest: int, oldest: int) -> str:
    """Return the ages of a line in words: "5 to 6 weeks old", "day-olds, up to 3 days"; one unit for both."""
    if youngest == 0 and oldest >= OLDEST_DAYS:
        return gettext("of any age")
    if youngest == 0:
        return gettext("day-olds, up to %(age)s") % {"age": shown(oldest)} if oldest else gettext("day-olds")
    if youngest == oldest:
        return gettext("%(age)s old") % {"age": shown(oldest)}
    if oldest >= OLDEST_DAYS:
        return gettext("at least %(age)s old") % {"age": shown(youngest)}
    if youngest % DAYS_A_WEEK or oldest % DAYS_A_WEEK:
        return gettext("%(youngest)d to %(oldest)d days old") % {"youngest": youngest, "oldest": oldest}
    weeks = {"youngest": youngest // DAYS_A_WEEK, "oldest": oldest // DAYS_A_WEEK}
    return gettext("%(youngest)d to %(oldest)d weeks old") % weeks


def _day_old() -> set[str]:
    return {"day-old", "day-olds", "day old", "day olds", gettext("day-olds").casefold()}


def _factor(unit: str, *, alone: bool) -> int | None:
    """Return the days of a unit; a number without one is days, when nothing else is there."""
    if unit in {"", "d", "day", "days", gettext("day"), gettext("days")}:
        return 1 if unit or alone else None
    if unit in {"w", "wk", "wks", "week", "weeks", gettext("week"), gettext("weeks")}:
        return DAYS_A_WEEK
    return None
