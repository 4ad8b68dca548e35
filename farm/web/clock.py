"""The one place of the pages that reads the clock."""

from __future__ import annotations

from datetime import UTC, datetime


def now() -> datetime:
    """Return this instant in UTC."""
    return datetime.now(UTC)  # noqa: TID251
