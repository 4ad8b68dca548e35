"""Beat that may be started as often as one likes: one of them sends, the others stand by and take over.

With Redis the seat is a key there that ends by itself unless it is renewed; without Redis all processes share a data
folder, and a lock on a file in it goes with the process that holds it. When each entry was last sent is kept beside the
seat, so that who takes over neither sends twice nor leaves out what came due meanwhile.
"""

from __future__ import annotations

import fcntl
import json
import logging
import os
import secrets
import time
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, Protocol, cast

import redis
from celery.beat import ScheduleEntry, Scheduler
from django.conf import settings

log = logging.getLogger(__name__)

#: How long the seat is held without being renewed. Seconds; project default (judgement)
LEASE_SECONDS = 15.0
#: How often it is renewed, and looked for by those who stand by. Seconds; project default (judgement)
RENEW_SECONDS = 4.0
#: After a beat was killed another one sends within so many seconds: the lease, and one look.
TAKEN_OVER_SECONDS = LEASE_SECONDS + RENEW_SECONDS


class Seat(Protocol):
    """The place of the one beat that sends."""

    def hold(self) -> bool:
        """Take the seat, or renew it; say whether it is ours."""

    def leave(self) -> None:
        """Free the seat if it is ours."""

    def ran(self) -> dict[str, float]:
        """Return when each entry was last sent: name -> seconds since 1970."""

    def note(self, name: str, at: float) -> None:
        """Keep that an entry was sent."""


class RedisSeat:
    """The seat on Redis: a key with our mark in it, ending by itself."""

    KEY, RAN = "featherdays:beat", "featherdays:beat:ran"
    _RENEW = "if redis.call('get', KEYS[1]) == ARGV[1] then return redis.call('pexpire', KEYS[1], ARGV[2]) end return 0"
    _LEAVE = "if redis.call('get', KEYS[1]) == ARGV[1] then return redis.call('del', KEYS[1]) end return 0"

    def __init__(self, url: str) -> None:
        self.link = redis.Redis.from_url(url, socket_connect_timeout=2, socket_timeout=2)
        self.mark = secrets.token_hex(16)
        self.until = 0.0  # on our own clock, counted from before we asked: never later than Redis lets go

    def hold(self) -> bool:
        """Take or renew. Redis being away ends our hold with the lease, so that two never think they have it."""
        asked, lease = time.monotonic(), int(LEASE_SECONDS * 1000)
        try:
            if self.link.eval(self._RENEW, 1, self.KEY, self.mark, lease) or self.link.set(
                self.KEY, self.mark, nx=True, px=lease
            ):
                self.until = asked + LEASE_SECONDS
            else:
                self.until = 0.0
        except redis.RedisError as error:
            log.warning("Redis does not answer beat: %s", error)
        return time.monotonic() < self.until

    def leave(self) -> None:
        """Free it, so that another need not wait for the lease to end."""
        self.until = 0.0
        try:
            self.link.eval(self._LEAVE, 1, self.KEY, self.mark)
        except redis.RedisError as error:
            log.warning("beat leaves its seat to the lease: %s", error)

    def ran(self) -> dict[str, float]:
        """Return what is kept on Redis."""
        kept = cast("dict[bytes, bytes]", self.link.hgetall(self.RAN))
        return {name.decode(): float(at) for name, at in kept.items()}

    def note(self, name: str, at: float) -> None:
        """Keep it on Redis."""
        self.link.hset(self.RAN, name, repr(at))


class FolderSeat:
    """The seat in a data folder: a locked file, let go with the process however it ends."""

    def __init__(self, folder: Path) -> None:
        self.lock, self.file = folder / "beat.lock", folder / "beat.json"
        self.handle: int | None = None
        self.known: dict[str, float] = {}

    def hold(self) -> bool:
        """Take it; once taken it stays ours."""
        if self.handle is not None:
            return True
        handle = os.open(self.lock, os.O_RDWR | os.O_CREAT | os.O_CLOEXEC, 0o600)
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError:
            os.close(handle)
            return False
        self.handle = handle
        return True

    def leave(self) -> None:
        """Let go."""
        if self.handle is not None:
            os.close(self.handle)
            self.handle = None

    def ran(self) -> dict[str, float]:
        """Return what the file holds; nothing when there is none or it is damaged."""
        try:
            found = json.loads(self.file.read_text(encoding="utf-8"))
            self.known = {str(name): float(at) for name, at in found.items()}
        except FileNotFoundError:
            self.known = {}
        except (OSError, ValueError, AttributeError, TypeError) as error:
            log.warning("%s can't be read, beat begins anew: %s", self.file, error)
            self.known = {}
        return self.known

    def note(self, name: str, at: float) -> None:
        """Write the file anew, whole or not at all."""
        self.known[name] = at
        draft = self.file.with_suffix(".draft")
        draft.write_text(json.dumps(self.known), encoding="utf-8")
        draft.replace(self.file)


def seat() -> Seat:
    """Return the seat of this installation: where its broker is."""
    if settings.MANY_MACHINES:
        return RedisSeat(settings.CELERY_BROKER_URL)
    return FolderSeat(Path(settings.DATA))


class OneScheduler(Scheduler):
    """Sends only while it holds the seat."""

    def __init__(self, *args: Any, seat_of: Any = seat, **more: Any) -> None:
        self.seat: Seat = seat_of()
        self.holds = False
        self.looked = float("-inf")
        super().__init__(*args, **more)

    def tick(self, **more: Any) -> float:
        """Send what is due while the seat is ours; return the seconds until the next look, never long."""
        if not self._hold():
            return RENEW_SECONDS
        wait = super().tick(**more)
        return min(RENEW_SECONDS, RENEW_SECONDS if wait is None else wait)

    def apply_entry(self, entry: ScheduleEntry, producer: Any = None) -> None:
        """Send, then note it: killed in between, the next beat sends once more, which does no harm."""
        super().apply_entry(entry, producer=producer)
        try:
            self.seat.note(entry.name, self.schedule[entry.name].last_run_at.timestamp())
        except (redis.RedisError, OSError) as error:
            log.warning("when %s was sent could not be kept: %s", entry.name, error)

    def close(self) -> None:
        """Free the seat too."""
        self.seat.leave()
        self.holds = False
        super().close()

    def _hold(self) -> bool:
        if self.holds and time.monotonic() - self.looked < RENEW_SECONDS:
            return True
        held, self.looked = self.holds, time.monotonic()
        try:
            self.holds = self.seat.hold()
            if self.holds and not held:
                self._take_over()
        except (redis.RedisError, OSError) as error:
            log.warning("beat can't take its seat: %s", error)
            self.holds = False
        if held and not self.holds:
            log.warning("another beat sends now; this one stands by")
        return self.holds

    def _take_over(self) -> None:
        ran = self.seat.ran()
        for name, entry in self.schedule.items():
            if name in ran:
                entry.last_run_at = datetime.fromtimestamp(ran[name], UTC)
        self._heap = None  # counted anew from when each was really sent
        log.info("this beat sends now")
