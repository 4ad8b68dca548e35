"""The names of time zones."""

from __future__ import annotations

from functools import cache
from zoneinfo import available_timezones


@cache
def known() -> frozenset[str]:
    """Return every IANA name this machine knows. Read once: it takes longer than most pages, and a new one is rare."""
    return frozenset(available_timezones())
