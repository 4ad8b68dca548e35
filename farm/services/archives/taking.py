"""A keeper takes everything of the farm along."""

from __future__ import annotations

from typing import IO

from django.db import transaction

from farm.models.member import Role
from farm.queries.archives import packing
from farm.services import locks
from farm.services.actor import Actor


def take(by: Actor, to: IO[bytes]) -> None:
    """Write the farm's archive into `to`, at one moment: writers wait at the farm's lock until it is done.

    A closed farm can still be taken along. Raises NotAllowed for anyone but a keeper, NotFound.
    """
    by.require(Role.KEEPER)
    with transaction.atomic():
        packing.pack(locks.farm(by.farm_id, closed=True), to, by.now)
