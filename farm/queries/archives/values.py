"""One column's value as JSON, exactly; and a snapshot of the history without what stays behind."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, time
from typing import Any

from django.db import models

from farm.queries.archives import shape


def plain(value: Any) -> Any:
    """Return a value as JSON knows it: instants in UTC to the microsecond, days and times in ISO."""
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    return value.isoformat() if isinstance(value, date | time) else value


def empty(field: models.Field) -> Any:
    """Return what a column holds in a row that is made anew, as JSON."""
    return plain(field.get_default())


def may_be_missing(field: models.Field) -> bool:
    """Say whether a row made before the column was thought of can do without it."""
    return field.has_default() or field.null or field.blank


def snapshot(name: str, said: Mapping[str, Any] | None) -> dict[str, Any] | None:
    """Return a row as the history keeps it without what stays behind; {} for a kind that stays behind whole.

    Raises TypeError for what is no row.
    """
    if said is None:
        return None
    if name not in shape.exported():
        return {}
    if not isinstance(said, Mapping):
        raise TypeError("no record")
    return dict(said) | {
        column: empty(field) for column, field in shape.left_behind(name).items() if column in said
    }
