"""Django's cache on Redis, and in the process itself while Redis is away.

What is kept there brakes guessing and spares doing work twice: losing it is tolerable, a page that fails for want of it
is not. While Redis is away each process counts for itself.
"""

from __future__ import annotations

import logging
import time
from collections.abc import Callable
from typing import Any, ClassVar

from django.core.cache.backends.locmem import LocMemCache
from django.core.cache.backends.redis import RedisCache
from redis.backoff import NoBackoff
from redis.exceptions import RedisError
from redis.retry import Retry

log = logging.getLogger(__name__)

#: How long Redis is left alone once it did not answer, so that pages don't wait for it one by one. Seconds; project
#: default (judgement).
PAUSE = 5.0
#: How long an answer is waited for. Seconds; project default (judgement).
PATIENCE = 1.0


def _either(name: str) -> Callable[..., Any]:
    """Return the cache's method `name`: Redis's, or this process's own while Redis does not answer."""

    def method(self: FallbackCache, *args: Any, **named: Any) -> Any:
        if time.monotonic() >= FallbackCache.away_until:
            try:
                return getattr(RedisCache, name)(self, *args, **named)
            except (RedisError, OSError) as error:
                FallbackCache.away_until = time.monotonic() + PAUSE
                log.warning("the cache is away, this process counts for itself: %s", error)
        return getattr(self.own, name)(*args, **named)

    method.__doc__ = f"As Django's `{name}`."
    return method


class FallbackCache(RedisCache):
    """A RedisCache whose every call is answered from this process's memory while Redis does not answer.

    Django makes one a thread; what they learn of Redis, and the memory, is the process's.
    """

    away_until: ClassVar[float] = 0.0  # on the monotonic clock

    def __init__(self, server: str, params: dict[str, Any]) -> None:
        # One try more at once: after a restart every kept connection is stale.
        options = {
            "socket_connect_timeout": PATIENCE,
            "socket_timeout": PATIENCE,
            "retry": Retry(NoBackoff(), 1),
        }
        super().__init__(server, params | {"OPTIONS": options | params.get("OPTIONS", {})})
        self.own = LocMemCache("while Redis is away", {})

    add = _either("add")
    get = _either("get")
    set = _either("set")
    touch = _either("touch")
    delete = _either("delete")
    has_key = _either("has_key")
    incr = _either("incr")
    get_many = _either("get_many")
    set_many = _either("set_many")
    delete_many = _either("delete_many")
    clear = _either("clear")
