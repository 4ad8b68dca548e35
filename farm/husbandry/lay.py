"""When birds come into lay."""

from __future__ import annotations

from farm.trade.general import general
from farm.trade.programme import Programme


def point_of_lay(programme: Programme) -> int | None:
    """Return the day of age of the first eggs (to 10 % of hens), or None for birds that are not kept to lay.

    By the programme's key, which a farm's own copy keeps.
    """
    found = general()["point_of_lay"].get(programme.key)
    return int(found.value) if found else None
