"""The same records as tables a person reads, with names for numbers, and cells that no spreadsheet runs as formulas."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

from django.db import models
from django.utils.translation import gettext as _

from farm.models import Farm
from farm.phrase import N_
from farm.queries.archives import rows, shape

#: By file: the noun, and its columns as (title, path from the row).
TABLES: Mapping[str, tuple[str, tuple[tuple[str, str], ...]]] = {
    "batches": (
        "batch",
        (
            *(
                (N_("Batch"), "name"),
                (N_("Species"), "species"),
                (N_("Type"), "type"),
                (N_("Breed"), "breed"),
            ),
            *((N_("Sex"), "sex"), (N_("Where from"), "source"), (N_("Hatch day"), "hatch_day")),
            *((N_("Arrives on"), "arrived_on"), (N_("Leaves on"), "leaves_on")),
            *(
                (N_("Programme"), "programme_version__programme__name"),
                (N_("Version"), "programme_version__number"),
            ),
            *((N_("Not yet here"), "expected"), (N_("Notes"), "notes")),
        ),
    ),
    "count_ledger": (
        "countentry",
        (
            *(
                (N_("Day"), "day"),
                (N_("Batch"), "batch__name"),
                (N_("What happened"), "kind"),
                (N_("Birds"), "birds"),
            ),
            *((N_("Housing"), "housing__name"), (N_("By"), "member__name"), (N_("Note"), "note")),
            *((N_("Reason for not waiting"), "override_reason"), (N_("Entered at"), "created_at")),
        ),
    ),
    "stays": (
        "stay",
        (
            *((N_("Batch"), "batch__name"), (N_("Housing"), "housing__name"), (N_("Birds"), "birds")),
            *((N_("From"), "start"), (N_("Until (not including)"), "end"), (N_("Has happened"), "actual")),
            *((N_("Pinned"), "pinned"), (N_("Reason"), "override_reason")),
        ),
    ),
    "housing": (
        "housing",
        (
            *((N_("Housing"), "name"), (N_("Kind"), "kind"), (N_("Floor (m²)"), "area_m2")),
            *((N_("Feeder edge (cm)"), "feeder_cm"), (N_("Drinker edge (cm)"), "drinker_cm")),
            *((N_("Heated"), "heated"), (N_("Indoor"), "indoor"), (N_("One batch at a time"), "one_batch")),
            *((N_("Rest days"), "rest_days"), (N_("Whereabouts"), "whereabouts"), (N_("Notes"), "notes")),
        ),
    ),
    "observations": (
        "observation",
        (
            *(
                (N_("At"), "at"),
                (N_("What"), "kind"),
                (N_("Batch"), "batch__name"),
                (N_("Housing"), "housing__name"),
            ),
            *((N_("Value"), "value"), (N_("Birds"), "birds"), (N_("Word"), "word"), (N_("Note"), "note")),
            (N_("By"), "member__name"),
        ),
    ),
    "egg_sets": (
        "eggset",
        (
            *(
                (N_("Egg set"), "name"),
                (N_("Species"), "species"),
                (N_("Type"), "type"),
                (N_("Eggs"), "eggs"),
            ),
            *((N_("Machine"), "setter__name"), (N_("Hatcher"), "hatcher__name"), (N_("Set on"), "set_on")),
            *((N_("State"), "state"), (N_("Hatched on"), "hatched_on"), (N_("Batch"), "batch__name")),
            (N_("Notes"), "notes"),
        ),
    ),
    "egg_ledger": (
        "eggentry",
        (
            *((N_("Day"), "day"), (N_("Egg set"), "egg_set__name"), (N_("What was found"), "kind")),
            *((N_("Eggs"), "eggs"), (N_("By"), "member__name")),
        ),
    ),
    "orders": (
        "orderline",
        (
            *((N_("Customer"), "order__customer"), (N_("State"), "order__status"), (N_("Birds"), "birds")),
            *((N_("Programme"), "programme__name"), (N_("Breed"), "breed"), (N_("Sex"), "sex")),
            *((N_("Age from (days)"), "age_from_days"), (N_("Age to (days)"), "age_to_days")),
            *((N_("From"), "from_on"), (N_("To"), "to_on"), (N_("Deposit"), "order__deposit")),
            (N_("Notes"), "order__notes"),
        ),
    ),
    "hand_overs": (
        "filling",
        (
            *((N_("Day"), "day"), (N_("Customer"), "line__order__customer"), (N_("Batch"), "batch__name")),
            *((N_("Birds"), "birds"), (N_("By"), "member__name")),
        ),
    ),
    "feed_ledger": (
        "feedentry",
        (
            *(
                (N_("Day"), "day"),
                (N_("Feed"), "feed__name"),
                (N_("What happened"), "kind"),
                (N_("Grams"), "grams"),
            ),
            *(
                (N_("Milled on"), "milled_on"),
                (N_("Price (cents)"), "price_cents"),
                (N_("By"), "member__name"),
            ),
            (N_("Note"), "note"),
        ),
    ),
    "medicines": (
        "waitingtime",
        (
            *((N_("Batch"), "batch__name"), (N_("What"), "what"), (N_("Given on"), "given_on")),
            *((N_("Days to wait"), "days"), (N_("Product"), "product"), (N_("Note"), "note")),
        ),
    ),
    "chores_done": (
        "choremark",
        (
            *((N_("Day"), "due"), (N_("Round"), "round"), (N_("Chore"), "title"), (N_("State"), "state")),
            *((N_("Minutes"), "minutes"), (N_("By"), "member__name"), (N_("Note"), "note"), (N_("At"), "at")),
        ),
    ),
    "members": (
        "member",
        (
            *((N_("Name"), "name"), (N_("Role"), "role"), (N_("Adult"), "adult")),
            *((N_("Share"), "share"), (N_("Left on"), "left_on")),
        ),
    ),
    "history": (
        "historyentry",
        (
            *(
                (N_("At"), "at"),
                (N_("By"), "member__name"),
                (N_("From where"), "face"),
                (N_("What"), "summary"),
            ),
        ),
    ),
}
#: What spreadsheets take for the beginning of a formula.
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_NUMERIC = re.compile(r"[-+]?\d+(?:[.,]\d+)?")


def lines(farm: Farm, name: str) -> Iterator[str]:
    """Yield a table line by line, its titles first, with the mark that tells spreadsheets it is UTF-8."""
    noun, columns = TABLES[name]
    model, zone = shape.exported()[noun], ZoneInfo(farm.time_zone)
    yield "\ufeff" + _line([_(title) for title, _path in columns])
    fields = [_field(model, path) for _title, path in columns]
    found = rows.mine(model, farm).order_by("pk").values_list(*(path for _title, path in columns))
    for row in found.iterator(chunk_size=2000):
        yield _line([_word(field, value, zone) for field, value in zip(fields, row, strict=True)])


def guarded(text: str) -> str:
    """Return a cell that no spreadsheet runs as a formula; plain numbers stay numbers."""
    if not text.startswith((*_FORMULA, "'")) or _NUMERIC.fullmatch(text):
        return text
    return "'" + text


def _line(cells: list[str]) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, lineterminator="\r\n").writerow([guarded(cell) for cell in cells])
    return out.getvalue()


def _field(model: type[models.Model], path: str) -> models.Field:
    *way, last = path.split("__")
    for step in way:
        model = model._meta.get_field(step).related_model  # type: ignore[assignment]
    return model._meta.get_field(last)  # type: ignore[return-value]


def _word(field: models.Field, value: Any, zone: ZoneInfo) -> str:
    if value is None:
        return ""
    if isinstance(value, bool):
        return _("yes") if value else _("no")
    if isinstance(value, datetime):
        return value.astimezone(zone).strftime("%Y-%m-%d %H:%M")
    if field.choices:
        return str(dict(field.flatchoices).get(value, value))
    return str(value)
