"""Brakes of the personal page: on guessing addresses, and on a phone that sends without end.

Counted in Django's cache, each caller and member for themselves: nobody is slowed down by somebody else. All numbers
are project default (judgement).
"""

from __future__ import annotations

from farm.web.counters import count, nameless

MISSES = 30  # wrong addresses one caller may try in MISS_SECONDS
MISS_SECONDS = 600
ITEMS = 300  # things one link or member may send in ITEM_SECONDS
ITEM_SECONDS = 60


def missed(address: str) -> int:
    """Count a wrong address and return the seconds to wait, 0 while they are few."""
    return MISS_SECONDS if count(f"my-misses:{nameless(address)}", MISS_SECONDS) > MISSES else 0


def sending(who: str, items: int) -> int:
    """Count `items` sent by a link or member and return the seconds to wait before any is taken, 0 for none."""
    return ITEM_SECONDS if count(f"my-sent:{who}", ITEM_SECONDS, items) > ITEMS else 0
