"""Brings the rows of an older archive to today's shape, one schema after the other.

A schema that only gained columns needs nothing here: a column an archive does not name takes its default.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.translation import gettext as _

from farm.queries.archives import shape
from farm.services.archives.opening import refuse

Rows = dict[str, list[dict[str, Any]]]
Upgrade = Callable[[Rows], Rows]

#: By the schema it starts from: what makes the next one of it. Rows are JSON before and after.
CHAIN: Mapping[int, Upgrade] = {}


def upgraded(
    found: Rows, schema: int, *, chain: Mapping[int, Upgrade] = CHAIN, newest: int = shape.SCHEMA
) -> Rows:
    """Return the rows in the newest schema. Raises BadInput for a schema that is newer, or too old to be known."""
    if schema > newest:
        text = _(
            "It was written by a newer Featherdays (its records are of kind %(theirs)d, this program reads up to"
            " %(ours)d). Update this one, then bring the farm."
        )
        raise refuse(text, theirs=schema, ours=newest)
    while schema < newest:
        if schema not in chain:
            raise refuse(_("Its records are of kind %(theirs)d, which nobody reads any more."), theirs=schema)
        found = chain[schema](found)
        schema += 1
    return found
