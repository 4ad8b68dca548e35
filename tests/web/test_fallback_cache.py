"""The cache while Redis is away: counts go on in the process, nothing fails, and Redis is asked again after a while."""

from __future__ import annotations

import os
import time
from collections.abc import Iterator

import pytest

from farm.web.fallback_cache import PAUSE, FallbackCache

AWAY = "redis://127.0.0.1:1/0"
REDIS = os.environ.get("FEATHERDAYS_TEST_REDIS", "redis://127.0.0.1:6379/15")


@pytest.fixture
def away(monkeypatch: pytest.MonkeyPatch) -> Iterator[FallbackCache]:
    monkeypatch.setattr(FallbackCache, "away_until", 0.0)
    cache = FallbackCache(AWAY, {})
    yield cache
    cache.own.clear()


def test_counts_go_on_in_the_process(away: FallbackCache) -> None:
    assert away.add("tries", 0, 60)
    assert not away.add("tries", 0, 60)
    assert [away.incr("tries"), away.incr("tries", 4), away.get("tries")] == [1, 5, 5]
    away.delete("tries")
    assert away.get("tries") is None
    with pytest.raises(ValueError, match="tries"):
        away.incr("tries")


def test_many_at_once_and_all_else_go_on_too(away: FallbackCache) -> None:
    away.set_many({"a": 1, "b": 2})
    assert away.get_many(["a", "b", "c"]) == {"a": 1, "b": 2}
    assert [away.has_key("a"), away.touch("a", 60), away.decr("b")] == [True, True, 1]
    away.delete_many(["a"])
    assert away.get("a") is None


def test_a_failure_is_said_once_and_redis_is_left_alone_for_a_while(
    away: FallbackCache, caplog: pytest.LogCaptureFixture
) -> None:
    for n in range(5):
        away.set(f"key {n}".replace(" ", "-"), n)
    assert len(caplog.records) == 1
    assert 0 < FallbackCache.away_until - time.monotonic() <= PAUSE


@pytest.mark.redis
def test_once_redis_answers_again_it_is_used_again(
    away: FallbackCache, monkeypatch: pytest.MonkeyPatch
) -> None:
    away.set("kept", "here")
    monkeypatch.setattr(FallbackCache, "away_until", 0.0)
    there = FallbackCache(REDIS, {})
    there.delete("kept")
    assert there.get("kept") is None
    there.set("kept", "there", 5)
    assert FallbackCache(REDIS, {}).get("kept") == "there"
    assert FallbackCache.away_until == 0.0
