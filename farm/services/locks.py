"""What keeps two writers apart.

One lock a farm: writers of the same farm queue, farms never wait for each other. PostgreSQL locks the farm's row;
SQLite's IMMEDIATE transactions already let one writer in at a time. Ask for several farms in number order.
"""

from __future__ import annotations

from django.utils.translation import gettext as _

from farm.errors import NotFound
from farm.models import Farm


def farm(farm_id: int, *, closed: bool = False) -> Farm:
    """Return the farm, locked until the transaction ends. Must be called inside one.

    closed: a closed farm will do. Raises NotFound, also for a closed farm: to jobs and apps it is as good as gone.
    """
    found = Farm.objects.select_for_update().filter(pk=farm_id).first()
    if found is None:
        raise NotFound("farm")
    if found.closing_on is not None and not closed:
        raise NotFound(_("This farm is closed and will be removed. A keeper can keep it until then."))
    return found
