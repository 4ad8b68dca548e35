"""What the serving tests stand on: Hollow Farm with a batch, the clock at NOON, and a calendar app asking."""

from __future__ import annotations

import ssl
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.http import HttpResponse
from django.test import Client

from calendars import remembered, services
from calendars.models import CalendarLink
from farm.models import Farm
from farm.services.actor import Actor
from tests.conftest import NOON, World
from tests.farm.channels_world import HOST, certificate


@dataclass
class App:
    """A calendar app that holds one secret address."""

    link: CalendarLink
    secret: str

    @property
    def path(self) -> str:
        return f"/c/{self.secret}.ics"

    def get(self, at: datetime = NOON, method: str = "get", **headers: str) -> HttpResponse:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        with time_machine.travel(at, tick=False):
            return getattr(Client(), method)(self.path, headers=named)


@pytest.fixture(autouse=True)
def _forgotten_misses():
    cache.clear()
    remembered._kept.clear()
    yield
    cache.clear()


@pytest.fixture
def farm(world: World) -> World:
    """Hollow Farm with 40 layer chicks of 14 days in Brooder 1."""
    world.add_batch("Spring", housing="Brooder 1")
    return world


def subscribe(by: Actor, **fields: Any) -> App:
    """Make a link for the actor's own member (whole farm unless said otherwise)."""
    assert by.member is not None
    return App(
        *services.make_link(by, **{"member_id": by.member.pk, "label": "phone", "scope": "farm", **fields})
    )


@pytest.fixture
def app(farm: World) -> App:
    """The keeper's phone, subscribed to the whole farm."""
    return subscribe(farm.by)


def version(world: World) -> int:
    return Farm.objects.get(pk=world.farm.pk).version


@pytest.fixture(scope="session")
def pem(tmp_path_factory) -> Path:
    """Key and certificate of a stub that is asked by https."""
    return certificate(tmp_path_factory.mktemp("tls"), HOST)


@pytest.fixture(scope="session")
def trust(pem: Path) -> ssl.SSLContext:
    return ssl.create_default_context(cafile=str(pem))
