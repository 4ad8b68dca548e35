"""Every program speaks at noon of the small world's day."""

from collections.abc import Iterator

import pytest
import time_machine
from django.core import signals
from django.core.cache import cache
from django.db import close_old_connections

from api.webhooks import sending
from farm.services.channels import fetching
from tests.api.api_world import Program
from tests.conftest import NOON, World


@pytest.fixture(autouse=True)
def _at_noon():
    cache.clear()  # what others were counted for
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def program(world: World) -> Program:
    """A program of Hollow Farm's keeper that may all."""
    return Program(world.by)


@pytest.fixture
def unplugged(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is generated reaches nobody outside."""

    def nobody(request: fetching.Request) -> fetching.Answer:
        raise fetching.Unfetched("unreachable")

    monkeypatch.setattr(sending, "_ask", nobody)


@pytest.fixture
def one_connection() -> Iterator[None]:
    """Requests of the WSGI application share the test's transaction, as those of Django's own test client do."""
    for signal in (signals.request_started, signals.request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (signals.request_started, signals.request_finished):
        signal.connect(close_old_connections)
