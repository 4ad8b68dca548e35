"""Parameters that types alone can't judge: days that must lie in order, and not too many of them."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from api.core.problems import at_parameter

#: How many days may be asked for at once where each is worked out. Project default (judgement).
MOST_DAYS = 92


def days(start: date, end: date, *, most: int = MOST_DAYS) -> int:
    """Return how many days lie from `start` up to and without `end`. Raises ApiError at `to` for none or too many."""
    found = (end - start).days
    if not 1 <= found <= most:
        text = _("Give a day after “from”, and at most %(most)d days after it.") % {"most": most}
        raise at_parameter("to", text)
    return found


def ahead(parameter: str, day: date, first: date, last: date) -> date:
    """Return a day that lies from `first` to `last`. Raises ApiError at the parameter."""
    if not first <= day <= last:
        text = _("Choose a day from %(first)s to %(last)s.") % {"first": first, "last": last}
        raise at_parameter(parameter, text)
    return day
