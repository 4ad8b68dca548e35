"""Days of the demo, counted from the day it is planted."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from farm.services.actor import Actor


def at(by: Actor, days: int) -> Actor:
    """Return the actor as of `days` from the planting day, never later than it."""
    shift = timedelta(days=min(days, 0))
    return replace(by, now=by.now + shift, today=by.today + shift)


def day(by: Actor, days: int) -> date:
    """Return the day so many days from the planting day."""
    return by.today + timedelta(days=days)
