"""Housing as a table."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils.translation import gettext as _

from farm.models import Farm
from farm.models.housing import Housing, HousingKind
from farm.services import imports
from farm.services.actor import Actor
from farm.trade import species
from farm.web.imports.columns import Column, choice, day, quantity, text, whole, yes_no
from farm.web.imports.kinds import Kind

_OUTSIDE = frozenset({HousingKind.RUN, HousingKind.PADDOCK})
_EDGE_CM = 100_000


def kind(farm: Farm) -> Kind:
    """Return the table of housing."""
    return Kind(
        "housing", _("Housing"), tuple(_columns()), imports.MOST_HOUSINGS, dict, _save, _try, _assumed
    )


def _columns() -> list[Column]:
    return [
        text("name", _label("name"), 60, "housing", "place", required=True),
        choice("kind", _label("kind"), _words(HousingKind.choices), "type", "sort"),
        quantity("area_m2", _label("area_m2"), "m2", 0.01, 5000, "area", "floor", "size", required=True),
        yes_no("heated", _("heat"), "has heat", "heater"),
        yes_no("indoor", _label("indoor"), "inside"),
        quantity("feeder_cm", _label("feeder_cm"), "cm", 0, _EDGE_CM, "feeder", "feeders"),
        quantity("drinker_cm", _label("drinker_cm"), "cm", 0, _EDGE_CM, "drinker", "drinkers"),
        _species(),
        yes_no("one_batch", _label("one_batch"), "one batch only", "one batch"),
        whole("max_age_gap_days", _("largest age gap in days"), 0, 60, "age gap", "age gap days"),
        whole("rest_days", _("rest days"), 0, 365, "rest", "clean-out days"),
        day("in_service_from", _label("in_service_from"), "from"),
        day("in_service_to", _("in use until"), "until", "in use to"),
        text("notes", _label("notes"), 2000, "note"),
    ]


def _species() -> Column:
    table = species.species()
    more = {word.casefold(): key for key, row in table.items() for word in (row.name, row.plural)}
    labels = {key: _(row.name) for key, row in table.items()}
    return choice("species", _label("species"), labels, "species", "for species", more=more, several=True)


def _assumed(values: Mapping[str, Any]) -> dict[str, Any]:
    kind = values.get("kind", HousingKind.BROODER)
    return {"kind": kind, "heated": kind == HousingKind.BROODER, "indoor": kind not in _OUTSIDE} | dict(
        values
    )


def _save(by: Actor, rows: Sequence[Any]) -> Sequence[object]:
    return imports.add_housing(by, rows=rows)


def _try(by: Actor, rows: Sequence[Any]) -> Any:
    return imports.try_housing(by, rows=rows)


def _label(name: str) -> str:
    return str(Housing._meta.get_field(name).verbose_name)  # type: ignore[union-attr]


def _words(pairs: Sequence[tuple[str, Any]]) -> dict[str, str]:
    return {value: str(label) for value, label in pairs}
