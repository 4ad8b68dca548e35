"""Batches as a table: each with its birds and its first housing."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from farm.models import Farm
from farm.models.batch import Batch, BatchSource, Sex
from farm.queries import programmes
from farm.services import imports
from farm.services.actor import Actor
from farm.services.batches import NewBatch
from farm.services.counts import MOST_BIRDS
from farm.web.imports.columns import Column, choice, day, text, whole
from farm.web.imports.kinds import Kind

_PLACES = {"housing_id": "housing", "end": "housing_until", "start": "arrived_on"}
_SOURCES = {
    "bought": BatchSource.INTAKE,
    "intake": BatchSource.INTAKE,
    "hatchery": BatchSource.INTAKE,
    "hatched": BatchSource.OWN_HATCH,
    "own": BatchSource.OWN_HATCH,
}
_SEXES = {
    "straight run": Sex.STRAIGHT_RUN,
    "unsexed": Sex.STRAIGHT_RUN,
    "not sexed": Sex.STRAIGHT_RUN,
    "mixed": Sex.STRAIGHT_RUN,
    "female": Sex.FEMALE,
    "hens": Sex.FEMALE,
    "pullets": Sex.FEMALE,
    "male": Sex.MALE,
}


def kind(farm: Farm) -> Kind:
    """Return the table of batches, with the farm's own programmes among those it knows."""
    return Kind(
        "batches",
        _("Batches"),
        tuple(_columns(farm)),
        imports.MOST_BATCHES,
        _row,
        _save,
        _try,
        _assumed,
        _PLACES,
    )


def _columns(farm: Farm) -> list[Column]:
    return [
        text("name", _label("name"), 60, "batch", required=True),
        choice(
            "programme",
            _("programme"),
            dict(programmes.choices(farm.pk)),
            "species",
            "type",
            "rearing programme",
            more=programmes.by_words(farm.pk),
            required=True,
        ),
        whole("birds", _("birds"), 1, MOST_BIRDS, "number", "count", "how many", "chicks", required=True),
        day("hatch_day", _label("hatch_day"), "hatched", "hatch date", "hatched on", required=True),
        day("arrived_on", _label("arrived_on"), "arrival", "arrived", "arrived on", "arrival day"),
        day("leaves_on", _label("leaves_on"), "leaves", "leaving day"),
        text("housing", _("housing"), 60, "first housing", "lives in", "where"),
        day("housing_until", _("housing until"), "until", "moves on", "moves out on"),
        text("breed", _label("breed"), 60),
        choice("sex", _label("sex"), _words(Sex.choices), "sexed", more=_SEXES),
        choice("source", _label("source"), _words(BatchSource.choices), "source", "from", more=_SOURCES),
        text("override_reason", _("reason without heat"), 200, "reason"),
        text("notes", _label("notes"), 2000, "note"),
    ]


def _row(values: dict[str, Any]) -> imports.BatchRow:
    rest = {name: value for name, value in values.items() if name != "housing"}
    return imports.BatchRow(NewBatch(**rest), values.get("housing", ""))


def _assumed(values: Mapping[str, Any]) -> dict[str, Any]:
    found = {"source": BatchSource.INTAKE, "sex": Sex.STRAIGHT_RUN} | dict(values)
    return {"arrived_on": values["hatch_day"]} | found if "hatch_day" in values else found


def _save(by: Actor, rows: Sequence[Any]) -> Sequence[object]:
    return imports.start_batches(by, rows=rows)


def _try(by: Actor, rows: Sequence[Any]) -> Any:
    return imports.try_batches(by, rows=rows)


def _label(name: str) -> str:
    return str(Batch._meta.get_field(name).verbose_name)  # type: ignore[union-attr]


def _words(pairs: Sequence[tuple[str, Any]]) -> dict[str, str]:
    return {value: str(label) for value, label in pairs}
