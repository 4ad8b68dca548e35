"""A brake on guessing app passwords: by the address that asks, and by the user name that is tried.

Counted in Django's cache. Only misses are: whoever knows a password is always let in, so nobody can keep a family out
by typing wrong ones. The passwords are too long to be guessed; this spares the machine. All numbers are project default
(judgement).
"""

from __future__ import annotations

import hashlib

from django.core.cache import cache

SECONDS = 600
BY_ADDRESS = 30  # wrong tries of one address in SECONDS
BY_NAME = 60  # wrong tries of one user name in SECONDS, wherever from


def missed(address: str, name: str) -> int:
    """Count a wrong try and return the seconds to wait, 0 while they are few."""
    by_address = _count(f"dav-misses:address:{_hashed(address)}")
    by_name = _count(f"dav-misses:name:{_hashed(name.strip().casefold())}") if name else 0
    return SECONDS if by_address > BY_ADDRESS or by_name > BY_NAME else 0


def _hashed(text: str) -> str:
    return hashlib.sha256(text.encode("utf-8", "replace")).hexdigest()[:32]


def _count(key: str) -> int:
    cache.add(key, 0, SECONDS)
    try:
        return cache.incr(key)
    except ValueError:  # it ran out between the two lines
        return 1
