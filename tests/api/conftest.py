"""Every program speaks at noon of the small world's day."""

import pytest
import time_machine
from django.core.cache import cache

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
