"""The form that asks for a copy of a calendar: what, and from which day to which."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from django.utils.translation import get_language
from django.utils.translation import gettext_lazy as _

from calendars.choices import Rounds
from calendars.editions import Options
from calendars.pages.forms import ScopeForm
from farm.web.access import Visit
from farm.web.forms import DayField

#: Technical bounds of one copy, and how far from today it may lie; project default (judgement).
MOST_DAYS = 400
MOST_AWAY_DAYS = 800


class CopyForm(ScopeForm):
    """What the copy holds, and its days; a season by default."""

    field_order = ("scope", "housing_id", "batch_id", "start", "end", "rounds")

    start = DayField(label=_("From"))
    end = DayField(label=_("To, and including"))

    def __init__(self, *args: Any, visit: Visit, **kwargs: Any) -> None:
        year = visit.by.today.year
        days = {"start": visit.by.today.replace(month=1, day=1), "end": visit.by.today.replace(year, 12, 31)}
        super().__init__(*args, visit=visit, initial=days, **kwargs)

    def clean(self) -> dict[str, Any]:
        """Refuse days the wrong way round, too many of them, and days too far away to say anything of."""
        cleaned = super().clean() or {}
        start, end = cleaned.get("start"), cleaned.get("end")
        if start is None or end is None:
            return cleaned
        today, away = self.visit.by.today, timedelta(days=MOST_AWAY_DAYS)
        if end < start:
            self.add_error("end", _("This is before the first day."))
        elif end - start >= timedelta(days=MOST_DAYS):
            self.add_error("end", _("At most %d days at a time.") % MOST_DAYS)
        if not today - away <= start <= today + away:
            self.add_error("start", _("This is too far from today."))
        return cleaned

    def values(self) -> dict[str, Any]:
        """Return what `wanted.judged` is given."""
        typed = super().values()
        today, start, end = self.visit.by.today, typed.pop("start"), typed.pop("end")
        rounds = typed.pop("rounds") or Rounds.TIMED
        days = {"back_days": (today - start).days, "ahead_days": (end - today).days + 1}
        options = Options(rounds=rounds, **days)
        return {"language": get_language() or "", "options": options} | typed
