"""A line of the history as other machines are told of it: what happened to what, without the values.

Values are read over the API, by whoever has a token: an address that leaks tells nobody more than that something
changed.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime
from typing import Any, Literal

from ninja import Field, Schema

from farm.models import Change, HistoryEntry


class Touched(Schema):
    """One record that was written."""

    noun: str
    id: int
    how: Literal["made", "changed", "removed"]


class Event(Schema):
    """One write. `id` rises within a farm in the order in which writes were saved."""

    id: int
    type: str = Field(description="What was written about and what was done, for example `batch.count`.")
    at: datetime
    noun: str
    noun_id: int | None
    summary: str = Field(description="The line a keeper reads in the history, in the words of who wrote it.")
    member_id: int | None = Field(description="Who; null for the system itself.")
    source: Literal["page", "api", "calendar", "job", "command"]
    undoes: int | None = Field(description="The event that this one takes back.")
    touched: list[Touched]


def event(entry: HistoryEntry) -> dict[str, Any]:
    """Return an entry, its changes read along, as `Event` has it."""
    return {
        "id": entry.pk,
        "type": type_of(entry),
        "at": entry.at,
        "noun": entry.noun,
        "noun_id": entry.noun_id,
        "summary": entry.summary,
        "member_id": entry.member_id,
        "source": entry.face,
        "undoes": entry.undoes_id,
        "touched": _touched(entry.changes.all()),
    }


def type_of(entry: HistoryEntry) -> str:
    """Return the name of an event: "batch.start_batch"."""
    return f"{entry.noun or 'farm'}.{entry.verb.replace(' ', '_')}"


def _touched(changes: Iterable[Change]) -> list[dict[str, Any]]:
    return [{"noun": one.model, "id": one.row, "how": _how(one)} for one in changes]


def _how(change: Change) -> str:
    if change.before is None:
        return "made"
    return "removed" if change.after is None else "changed"
