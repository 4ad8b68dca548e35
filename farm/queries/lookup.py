"""The one way to find a record by number: inside its farm. Another farm's number is simply not found."""

from __future__ import annotations

from typing import TypeVar

from django.utils.translation import gettext as _

from farm.errors import NotFound
from farm.models.owned import Owned

Record = TypeVar("Record", bound=Owned)


def get(model: type[Record], *, farm_id: int, pk: int | str | None) -> Record:
    """Return the record of `model` numbered `pk` on the farm. Raises NotFound."""
    found = model._default_manager.filter(farm_id=farm_id, pk=pk).first() if _is_number(pk) else None
    if found is None:
        raise NotFound(_("There is no such %(thing)s on this farm.") % {"thing": model._meta.verbose_name})
    return found


def get_or_none(model: type[Record], *, farm_id: int, pk: int | str | None) -> Record | None:
    """Return the record, or None when `pk` is empty. Raises NotFound for a number that is not of this farm."""
    return None if pk in (None, "") else get(model, farm_id=farm_id, pk=pk)


def _is_number(pk: int | str | None) -> bool:
    # Longer numbers overflow the databases' integers and are nobody's id.
    return pk is not None and str(pk).isascii() and str(pk).isdigit() and len(str(pk)) <= 18
