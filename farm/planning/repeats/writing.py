"""Rules written as RFC 5545 wants them; the same rule is always the same text."""

from __future__ import annotations

from farm.planning.repeats.parsing import DAYS
from farm.planning.repeats.rule import Repeat


def write(repeat: Repeat) -> str:
    """Return the rule as the value of an RRULE. Monday as first day of the week is that format's own default."""
    parts = [f"FREQ={repeat.freq.upper()}"]
    if repeat.interval != 1:
        parts.append(f"INTERVAL={repeat.interval}")
    if repeat.weekdays:
        parts.append("BYDAY=" + ",".join(DAYS[day] for day in repeat.weekdays))
    if repeat.nth is not None:
        parts.append(f"BYDAY={repeat.nth[0]}{DAYS[repeat.nth[1]]}")
    if repeat.monthday is not None:
        parts.append(f"BYMONTHDAY={repeat.monthday}")
    if repeat.until is not None:
        parts.append("UNTIL=" + repeat.until.isoformat().replace("-", ""))
    if repeat.count is not None:
        parts.append(f"COUNT={repeat.count}")
    return ";".join(parts)
