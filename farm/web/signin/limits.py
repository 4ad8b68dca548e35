"""A brake on guessing: the more wrong tries, the longer the wait, never for long and never for the whole family.

Kept in Django's cache, so a restart forgets it unless that is Redis. Attempts are counted before the password is looked
at: many at once gain nothing. All numbers are project default (judgement).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from django.core.cache import cache

from farm.web.counters import count, nameless

WINDOW_SECONDS = 3600
FIRST_WAIT_SECONDS = 30


@dataclass(frozen=True, slots=True)
class Limit:
    """One thing that is counted.

    free: attempts in WINDOW_SECONDS before any wait. longest: the waits double from FIRST_WAIT_SECONDS up to this.
    """

    name: str
    free: int
    longest: int

    def wait(self, attempts: int) -> int:
        """Return the seconds to wait after so many attempts, 0 while they are free."""
        over = attempts - self.free
        return 0 if over < 0 else min(self.longest, FIRST_WAIT_SECONDS * 2 ** min(over, 20))


#: One person mistyping waits alone: others at the same address, and the same e-mail elsewhere, go on.
PAIR = Limit("pair", free=5, longest=900)
#: One address trying many e-mails.
ADDRESS = Limit("address", free=50, longest=300)
#: Many addresses trying one e-mail. Short, because whoever does it also keeps the family out meanwhile.
EMAIL = Limit("email", free=200, longest=60)
#: Letters to one e-mail, and new logins from one address, an hour.
LETTERS = Limit("letters", free=4, longest=WINDOW_SECONDS)
SIGN_UPS = Limit("sign-ups", free=20, longest=WINDOW_SECONDS)


@dataclass(frozen=True, slots=True)
class Attempt:
    """Something tried at the instant `now`: each limit with the value it counts."""

    counted: Sequence[tuple[Limit, str]]
    now: datetime

    def take(self) -> int:
        """Count the attempt and return 0, or return the seconds to wait, without counting it."""
        waits = [self._left(limit, value) for limit, value in self.counted]
        if any(waits):
            return max(waits)
        return max(self._count(limit, value) for limit, value in self.counted)

    def _count(self, limit: Limit, value: str) -> int:
        wait = limit.wait(count(_key(limit, value, "count"), WINDOW_SECONDS))
        # Whoever begins the wait was still let through; of many at once that is one.
        if not wait or cache.add(_key(limit, value, "until"), self.now.timestamp() + wait, wait):
            return 0
        return max(1, self._left(limit, value))

    def give_back(self) -> None:
        """Uncount an attempt that was right: a busy household behind one address is not braked for signing in."""
        for limit, value in self.counted:
            cache.delete(_key(limit, value, "until"))
            if limit is PAIR:
                cache.delete(_key(limit, value, "count"))
            else:
                _uncount(_key(limit, value, "count"))

    def _left(self, limit: Limit, value: str) -> int:
        until = cache.get(_key(limit, value, "until"), 0.0)
        return max(0, round(until - self.now.timestamp() + 0.5))


def sign_in(email: str, address: str, now: datetime, browser: str = "") -> Attempt:
    """Return the attempt to sign in as `email` (whatever its case) from `address`.

    browser: of one that has signed in as `email` before (see `devices`); its tries are counted by themselves.
    """
    email = email.strip().casefold()
    if browser:
        return Attempt([(PAIR, f"{email} browser {browser}")], now)
    return Attempt([(PAIR, f"{email} {address}"), (ADDRESS, address), (EMAIL, email)], now)


def signed_in(email: str, now: datetime) -> Attempt:
    """Return the attempt to give one's password again: whoever found an open device may not try them all."""
    return Attempt([(PAIR, f"{email.strip().casefold()} signed in")], now)


def letter(email: str, now: datetime) -> Attempt:
    """Return the attempt to have a letter sent to `email`."""
    return Attempt([(LETTERS, email.strip().casefold())], now)


def sign_up(address: str, now: datetime) -> Attempt:
    """Return the attempt to make a login from `address`."""
    return Attempt([(SIGN_UPS, address)], now)


def _uncount(key: str) -> None:
    try:
        cache.decr(key)
    except ValueError:  # it ran out meanwhile
        return


def _key(limit: Limit, value: str, kind: str) -> str:
    # Hashed: e-mail addresses hold characters and lengths that caches refuse, and need not lie about in one.
    return f"brake:{limit.name}:{kind}:{nameless(value)}"
