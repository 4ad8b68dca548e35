"""A brake on guessing app passwords: by the address that asks, and by the user name that is tried.

Counted in Django's cache. Only misses are: whoever knows a password is always let in, so nobody can keep a family out
by typing wrong ones. The passwords are too long to be guessed; this spares the machine. All numbers are project default
(judgement).
"""

from __future__ import annotations

from farm.web.counters import count, nameless

SECONDS = 600
BY_ADDRESS = 30  # wrong tries of one address in SECONDS
BY_NAME = 60  # wrong tries of one user name in SECONDS, wherever from


def missed(address: str, name: str) -> int:
    """Count a wrong try and return the seconds to wait, 0 while they are few."""
    by_address = count(f"dav-misses:address:{nameless(address)}", SECONDS)
    by_name = count(f"dav-misses:name:{nameless(name.strip().casefold())}", SECONDS) if name else 0
    return SECONDS if by_address > BY_ADDRESS or by_name > BY_NAME else 0
