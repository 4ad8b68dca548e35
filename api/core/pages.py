"""Lists a page at a time, in an order the caller chose, with the fields the caller wants.

A cursor holds the last row's place in the order, so that rows added or removed meanwhile neither repeat nor hide one.
"""

from __future__ import annotations

import base64
import json
from collections.abc import Callable, Mapping, Sequence
from datetime import date, datetime
from typing import Any, Generic, TypeVar

from django.db.models import Model, Q, QuerySet
from ninja import Field, Schema
from pydantic import create_model

from api.core.problems import ApiError, at_parameter
from api.core.shapes import In

Item = TypeVar("Item")
Row = TypeVar("Row", bound=Model)
MOST = 200


class Page(Schema, Generic[Item]):
    """One page of a list. next: send it as `cursor` for the following page; null on the last."""

    items: list[Item]
    next: str | None


class Paging(In):
    """Which page of a list."""

    limit: int = Field(50, ge=1, le=MOST, description="How many at most.")
    cursor: str = Field("", max_length=600, description="`next` of the page before.")


class Wide(Paging):
    """Which page of a list of wide rows, and which of their fields."""

    fields: str = Field(
        "", max_length=600, description="Names of the fields wanted, separated by commas; `id` always comes."
    )


def of(
    rows: QuerySet[Row], query: Paging, shape: Callable[[Row], Any], *, order: str = "id"
) -> dict[str, Any]:
    """Return a page of a query as `Page` takes it, each row given to `shape`.

    order: a column that is never null, after it the number; a minus before it turns both round. Raises ApiError for a
    cursor of another order.
    """
    back = order.startswith("-")
    column = order.removeprefix("-")
    column = "pk" if column == "id" else column
    if query.cursor:
        rows = rows.filter(_after(rows, query.cursor, order, column, back))
    sign = "-" if back else ""
    ordered = (
        rows.order_by(f"{sign}{column}") if column == "pk" else rows.order_by(f"{sign}{column}", f"{sign}pk")
    )
    found = list(ordered[: query.limit + 1])
    more = len(found) > query.limit
    found = found[: query.limit]
    following = _cursor(order, getattr(found[-1], column), found[-1].pk) if more else None
    return {"items": [shape(row) for row in found], "next": following}


def of_list(items: Sequence[Any], query: Paging) -> dict[str, Any]:
    """Return a page of what was worked out whole and comes in a fixed order."""
    start = 0
    if query.cursor:
        kind, place = _read(query.cursor, 2)
        if kind != "at" or not isinstance(place, int) or not 0 <= place <= len(items):
            raise _unknown()
        start = place
    end = start + query.limit
    return {"items": list(items[start:end]), "next": _cursor("at", end) if end < len(items) else None}


def only(page: dict[str, Any], model: type[Schema], fields: str) -> dict[str, Any]:
    """Return a page whose items have the wanted fields alone. Raises ApiError for a name the model has not."""
    wanted = {name.strip() for name in fields.split(",") if name.strip()}
    unknown = sorted(wanted - set(model.model_fields))
    if unknown:
        raise at_parameter("fields", f"There is no field {unknown[0]}.")
    if wanted:
        wanted.add("id")
        page["items"] = [{name: _value(item, name) for name in wanted} for item in page["items"]]
    return page


def fewer(model: type[Schema]) -> type[Schema]:
    """Return `model` with every field but `id` left out at will: what a list answers to `fields`.

    Its operation needs `exclude_unset=True`.
    """
    parts: dict[str, Any] = {
        name: (
            field.annotation,
            Field(description=field.description)
            if name == "id"
            else Field(default_factory=lambda: None, description=field.description),
        )
        for name, field in model.model_fields.items()
    }
    return create_model(f"{model.__name__}Fields", __base__=Schema, __doc__=model.__doc__, **parts)


def _value(item: Any, name: str) -> Any:
    return item[name] if isinstance(item, Mapping) else getattr(item, name)


def _after(rows: QuerySet[Row], cursor: str, order: str, column: str, back: bool) -> Q:
    known, value, key = _read(cursor, 3)
    if known != order or not isinstance(key, int):
        raise _unknown()
    try:
        field: Any = rows.model._meta.get_field("id" if column == "pk" else column)
        value = field.to_python(value)
    except Exception as error:
        raise _unknown() from error
    beyond = "lt" if back else "gt"
    if column == "pk":
        return Q(**{f"pk__{beyond}": key})
    return Q(**{f"{column}__{beyond}": value}) | Q(**{column: value, f"pk__{beyond}": key})


def _cursor(*parts: object) -> str:
    plain = [part.isoformat() if isinstance(part, date | datetime) else part for part in parts]
    return base64.urlsafe_b64encode(json.dumps(plain).encode()).decode().rstrip("=")


def _read(cursor: str, parts: int) -> list[Any]:
    try:
        found = json.loads(base64.urlsafe_b64decode(cursor + "=" * (-len(cursor) % 4)))
    except ValueError as error:
        raise _unknown() from error
    if (
        not isinstance(found, list)
        or len(found) != parts
        or any(isinstance(one, list | dict) for one in found)
    ):
        raise _unknown()
    if any(isinstance(one, int) and abs(one) >= 2**63 for one in found):
        raise _unknown()
    return found


def _unknown() -> ApiError:
    return at_parameter("cursor", "This cursor is not of this list in this order. Begin without one.")
