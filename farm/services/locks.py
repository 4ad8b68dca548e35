"""What keeps two writers apart.

One lock a farm: writers of the same farm queue, farms never wait for each other. PostgreSQL locks the farm's row;
SQLite's IMMEDIATE transactions already let one writer in at a time. Ask for several farms in number order.
"""

from __future__ import annotations

from farm.errors import NotFound
from farm.models import Farm


def farm(farm_id: int) -> Farm:
    """Return the farm, locked until the transaction ends. Must be called inside one. Raises NotFound."""
    found = Farm.objects.select_for_update().filter(pk=farm_id).first()
    if found is None:
        raise NotFound("farm")
    return found
