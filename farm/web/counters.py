"""Counts in Django's cache that end by themselves: what brakes on guessing and flooding stand on."""

from __future__ import annotations

import hashlib

from django.core.cache import cache


def count(key: str, seconds: int, more: int = 1) -> int:
    """Add to a count and return it; it begins anew so many seconds after it began."""
    cache.add(key, 0, seconds)
    try:
        return cache.incr(key, more)
    except ValueError:  # it ran out between the two lines
        return more


def nameless(text: str) -> str:
    """Return what stands for an address or a name in a key, so that no list of them is kept."""
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:32]
