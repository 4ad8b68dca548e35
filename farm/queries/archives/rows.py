"""A farm's rows as an archive holds them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from django.db import models

from farm.models import Change, Farm
from farm.models.plan import PlanState
from farm.queries.archives import shape, values


def of(farm: Farm, name: str) -> Iterator[dict[str, Any]]:
    """Yield the farm's rows of a noun by number, as JSON values."""
    columns = shape.columns(name)
    for row in mine(shape.exported()[name], farm).order_by("pk").values(*columns).iterator(chunk_size=2000):
        found = {column: values.plain(row[column]) for column in columns}
        yield _SEEN_TO[name](found) if name in _SEEN_TO else found


def files(farm: Farm, name: str) -> Iterator[tuple[int, str, bytes]]:
    """Yield number, ending and octets of the files of a noun's rows."""
    for column, ending in shape.AS_FILES.items():
        owner, _dot, field = column.partition(".")
        if owner == name:
            rows = mine(shape.exported()[name], farm).order_by("pk").values_list("pk", field)
            for number, octets in rows.iterator(chunk_size=20):
                yield number, ending, bytes(octets)


def count(farm: Farm) -> dict[str, int]:
    """Return how many rows of each noun would leave."""
    return {name: mine(model, farm).count() for name, model in shape.exported().items()}


def mine(model: type[models.Model], farm: Farm) -> models.QuerySet:
    """Return the rows of a model that belong to a farm."""
    rows = model._default_manager.all()
    if model is Farm:
        return rows.filter(pk=farm.pk)
    return rows.filter(entry__farm=farm) if model is Change else rows.filter(farm=farm)


def _change(row: dict[str, Any]) -> dict[str, Any]:
    """A change of something that stays behind says that there was one, and no more."""
    gone = row["model"] not in shape.exported()
    return row | {
        "row": 0 if gone else row["row"],
        "before": values.snapshot(row["model"], row["before"]),
        "after": values.snapshot(row["model"], row["after"]),
    }


def _entry(row: dict[str, Any]) -> dict[str, Any]:
    return row | {"noun_id": row["noun_id"] if row["noun"] in shape.exported() else None}


def _plan(row: dict[str, Any]) -> dict[str, Any]:
    """A plan that is being worked out waits again: whoever works on it stays behind."""
    return row | {"state": PlanState.WAITING.value} if row["state"] == PlanState.SOLVING else row


_SEEN_TO = {"change": _change, "historyentry": _entry, "plan": _plan}
