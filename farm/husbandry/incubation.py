"""Days between setting eggs and the hatch. Day of set is incubation day 0; hatch day is set day plus the days."""

from __future__ import annotations

from farm.trade.general import figure
from farm.trade.programme import Programme


def hatch_after_days(programme: Programme) -> int:
    """Return the days from setting to hatch day."""
    return int(programme.rules["incubation_days"].value)


def lockdown_after_days(programme: Programme) -> int:
    """Return the days from setting to lockdown, when eggs go to the hatcher and turning has stopped."""
    return hatch_after_days(programme) - int(figure("incubation", "lockdown_days_before_hatch"))


def turning_days(programme: Programme) -> range:
    """Return the incubation days on which eggs are turned: from day 2 until lockdown, half-open."""
    return range(int(figure("incubation", "turn_from_day")), lockdown_after_days(programme))
