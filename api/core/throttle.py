"""How much one program, or one login, may ask in a minute. Counted by itself: nobody else on the farm is held up."""

from __future__ import annotations

from ninja.errors import Throttled

from api.core.callers import Caller
from farm.web import counters

A_MINUTE = 300  # requests; project default (judgement)
SECONDS = 60


def spend(caller: Caller) -> None:
    """Count one request. Raises Throttled when there were too many within the minute."""
    if counters.count(f"api:{caller.name}", SECONDS) > A_MINUTE:
        raise Throttled(wait=SECONDS)
