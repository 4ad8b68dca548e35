"""Brakes of the personal page: on guessing addresses, and on a phone that sends without end.

Counted in Django's cache, each caller and member for themselves: nobody is slowed down by somebody else. All numbers
are project default (judgement).
"""

from __future__ import annotations

import hashlib

from django.core.cache import cache

MISSES = 30  # wrong addresses one caller may try in MISS_SECONDS
MISS_SECONDS = 600
ITEMS = 300  # things one link or member may send in ITEM_SECONDS
ITEM_SECONDS = 60


def missed(address: str) -> int:
    """Count a wrong address and return the seconds to wait, 0 while they are few."""
    caller = hashlib.sha256(address.encode()).hexdigest()[:32]
    return MISS_SECONDS if _count(f"my-misses:{caller}", 1, MISS_SECONDS) > MISSES else 0


def sending(who: str, items: int) -> int:
    """Count `items` sent by a link or member and return the seconds to wait before any is taken, 0 for none."""
    return ITEM_SECONDS if _count(f"my-sent:{who}", items, ITEM_SECONDS) > ITEMS else 0


def _count(key: str, more: int, seconds: int) -> int:
    cache.add(key, 0, seconds)
    try:
        return cache.incr(key, more)
    except ValueError:  # it ran out between the two lines
        return more
