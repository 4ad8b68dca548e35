"""One stored value of a history entry in a keeper's words and units."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime
from typing import Any

from django.db import models
from django.utils import timezone
from django.utils.dateparse import parse_date, parse_datetime
from django.utils.formats import date_format, number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.models import Batch, Member, Observation
from farm.phrase import Quantity
from farm.trade import chores, species
from farm.wording import quantity

#: How a column's name ends -> its SI unit and the decimals shown.
_UNITS = {"_m2": ("m2", 2), "_cm": ("cm", 0), "_c": ("degC", 1), "_kg": ("kg", 2), "_g": ("g", 0)}
_SEEN = {"temperature": ("degC", 1), "weight": ("g", 0), "feed_left": ("kg", 2)}
Names = Mapping[tuple[type[models.Model], int], str]


def shown(field: models.Field, value: Any, row: Mapping[str, Any], names: Names, system: str) -> str:
    """Return `value` of a column as a page says it; "" for nothing. row: the other columns of the same record."""
    if value is None or value == "" or value == []:
        return ""
    if field.is_relation:
        return names.get((field.related_model, value), _("one that is gone"))  # type: ignore[arg-type]
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(field, models.DateField):
        return _moment(field, value)
    if isinstance(value, int | float):
        return _number(field, float(value), row, system)
    return _words(field, value, row)


def _moment(field: models.Field, value: str) -> str:
    if isinstance(field, models.DateTimeField):
        at: datetime | None = parse_datetime(value)
        return value if at is None else date_format(timezone.localtime(at), "DATETIME_FORMAT")
    day: date | None = parse_date(value)
    return value if day is None else date_format(day, "DATE_FORMAT")


def _number(field: models.Field, value: float, row: Mapping[str, Any], system: str) -> str:
    for ending, (unit, digits) in _UNITS.items():
        if field.name.endswith(ending):
            return quantity(Quantity(value, unit, digits), system)
    if field.model is Observation and field.name == "value" and row.get("kind") in _SEEN:
        unit, digits = _SEEN[row["kind"]]
        return quantity(Quantity(value, unit, digits), system)
    return number_format(f"{value:g}")


def _words(field: models.Field, value: Any, row: Mapping[str, Any]) -> str:
    known = species.species()
    if field.name == "species":
        keys = value if isinstance(value, list) else [value]
        return ", ".join(_(known[key].name) if key in known else str(key) for key in keys)
    if field.model is Batch and field.name == "type" and row.get("species") in known:
        kind = known[row["species"]].types.get(value)
        return _(kind.name) if kind else str(value)
    if field.model is Member and field.name == "rounds":
        return ngettext("%d round a week", "%d rounds a week", len(value)) % len(value)
    if isinstance(value, list):
        table = chores.chores()
        return ", ".join(_(table[one].title) if one in table else str(one) for one in value)
    return str(value)
