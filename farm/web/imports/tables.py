"""Tables by their key, and tables written out: invented examples, and what the farm has now."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from farm import units
from farm.models import Batch, Farm, Housing
from farm.phrase import Quantity
from farm.queries import heads
from farm.web.imports import batch_table, housing_table
from farm.web.imports.columns import Column
from farm.web.imports.grid import written
from farm.web.imports.kinds import Kind

TABLES: Mapping[str, Callable[[Farm], Kind]] = {"housing": housing_table.kind, "batches": batch_table.kind}

_HOUSING: list[dict[str, Any]] = [
    {
        "name": "Brooder 1",
        "kind": "brooder",
        "area_m2": 4.0,
        "heated": True,
        "feeder_cm": 240.0,
        "drinker_cm": 90.0,
    },
    {
        "name": "Brooder 2",
        "kind": "brooder",
        "area_m2": 3.0,
        "heated": True,
        "feeder_cm": 200.0,
        "drinker_cm": 80.0,
    },
    {
        "name": "Orchard pen",
        "kind": "pen",
        "area_m2": 12.0,
        "heated": False,
        "feeder_cm": 480.0,
        "drinker_cm": 160.0,
    },
]


def kind(key: str, farm: Farm) -> Kind:
    """Return a table as it is on this farm. Raises KeyError."""
    return TABLES[key](farm)


def example(key: str, farm: Farm, today: date) -> str:
    """Return a file with a few invented rows, dated around today, that the import takes as it is."""
    rows = _HOUSING if key == "housing" else _batches(today)
    return _file(kind(key, farm), rows, farm.units)


def present(key: str, farm: Farm, today: date) -> str:
    """Return what the farm has now in the same columns."""
    if key == "housing":
        rows = [_fields(row, kind(key, farm)) for row in Housing.objects.filter(farm=farm)]
    else:
        found = (
            Batch.objects.filter(farm=farm)
            .select_related("programme_version__programme")
            .prefetch_related("count_entries", "stays__housing")
        )
        rows = [_batch(row, kind(key, farm), today) for row in found]
    return _file(kind(key, farm), rows, farm.units)


def _batches(today: date) -> list[dict[str, Any]]:
    hatched, coming = today - timedelta(days=9), today + timedelta(days=20)
    return [
        {
            "name": _("Spring layers"),
            "programme": "chicken_layer_brown",
            "birds": 40,
            "hatch_day": hatched,
            "arrived_on": hatched + timedelta(days=1),
            "housing": "Brooder 1",
            "housing_until": hatched + timedelta(days=42),
        },
        {
            "name": _("Pond ducks"),
            "programme": "duck",
            "birds": 12,
            "hatch_day": coming,
            "arrived_on": coming,
            "housing": "Brooder 2",
            "source": "own_hatch",
        },
    ]


def _fields(row: Any, table: Kind) -> dict[str, Any]:
    return {column.name: getattr(row, column.name) for column in table.columns if hasattr(row, column.name)}


def _batch(row: Batch, table: Kind, today: date) -> dict[str, Any]:
    programme = row.programme_version.programme
    day = max(today, row.arrived_on)
    places = [
        stay.housing.name
        for stay in row.stays.all()
        if stay.start <= day and (not stay.end or stay.end > day)
    ]
    return _fields(row, table) | {
        "programme": str(programme.pk) if programme.edited else programme.built_in,
        "birds": heads.alive_on(row, day),
        "housing": places[0] if places else "",
    }


def _file(table: Kind, rows: list[dict[str, Any]], system: str) -> str:
    given = {name for row in rows for name, value in row.items() if value not in ("", None, [])}
    columns = [column for column in table.columns if column.required or column.name in given]
    lines = [[_text(row.get(column.name), column, system) for column in columns] for row in rows]
    return written([[column.header(system) for column in columns], *lines])


def _text(value: Any, column: Column, system: str) -> str:
    """Return a value as the import reads it back."""
    if value is None or value == "":
        return ""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, list):
        return " / ".join(column.labels[one] for one in value)
    if column.unit:
        return f"{round(units.shown(Quantity(value, column.unit), system)[0], 4):g}"
    return column.labels.get(value, str(value)) if column.labels else str(value)
