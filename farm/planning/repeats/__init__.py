"""Repeats: which days a chore of the keeper's own falls on, a day-level part of RFC 5545's recurrence rules; pure.

A rule says which days fit, `start` from which day on and where every second week or month is counted from. `start`
itself is one of the days only if it fits the rule (RFC 5545 leaves open what else it would be): give a calendar
`first_day` as its DTSTART. Weeks begin on Monday. A month without day 31 has none; it is left out, not moved.
"""

from __future__ import annotations

from farm.planning.repeats.dated import days, first_day, last_day, next_day
from farm.planning.repeats.parsing import parse
from farm.planning.repeats.rule import COUNT_MOST, INTERVAL_MOST, TEXT_MOST, Repeat, RepeatError
from farm.planning.repeats.words import in_words
from farm.planning.repeats.writing import write

__all__ = [
    "COUNT_MOST",
    "INTERVAL_MOST",
    "TEXT_MOST",
    "Repeat",
    "RepeatError",
    "days",
    "first_day",
    "in_words",
    "last_day",
    "next_day",
    "parse",
    "write",
]
