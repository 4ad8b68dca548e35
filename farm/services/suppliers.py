"""Those who sell chicks are added, changed and removed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Supplier
from farm.models.member import Role
from farm.queries import lookup, programmes
from farm.services import counts, stale
from farm.services.actor import Actor
from farm.services.writing import write

#: Accepted numbers, lowest and highest: project default (judgement).
RANGES: Mapping[str, tuple[int, int]] = {
    "minimum": (1, counts.MOST_BIRDS),
    "lead_days": (0, 365),
    "hours_on_the_way": (0, 96),
}


def add(by: Actor, **fields: Any) -> Supplier:
    """Add a supplier. `fields` are the model's: name, types, weekdays, … Raises BadInput by field."""
    with write(by, "add supplier", role=Role.KEEPER) as log:
        supplier = Supplier(farm=log.farm, **_tidied(fields))
        _check(supplier, fields)
        log.add(supplier)
        log.says(supplier, _("Supplier %(supplier)s added") % {"supplier": supplier})
    return supplier


def change(by: Actor, *, supplier_id: int, expected_version: int | None, **fields: Any) -> Supplier:
    """Change a supplier. Raises Stale, BadInput."""
    with write(by, "change supplier", role=Role.KEEPER) as log:
        supplier = lookup.get(Supplier, farm_id=by.farm_id, pk=supplier_id)
        stale.check(supplier, expected_version)
        _check(supplier, fields)
        log.change(supplier, **_tidied(fields))
        log.says(supplier, _("Supplier %(supplier)s changed") % {"supplier": supplier})
    return supplier


def remove(by: Actor, *, supplier_id: int, expected_version: int | None = None) -> None:
    """Remove a supplier no intake names. Raises BadInput otherwise, Stale."""
    with write(by, "remove supplier", role=Role.KEEPER) as log:
        supplier = lookup.get(Supplier, farm_id=by.farm_id, pk=supplier_id)
        stale.check(supplier, expected_version)
        if supplier.intakes.exists():
            raise BadInput.at("", _("Chicks came or are expected from there: it stays in the records."))
        log.says(supplier, _("Supplier %(supplier)s removed") % {"supplier": supplier})
        log.remove(supplier)


def _tidied(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value.strip() if name == "name" else value for name, value in fields.items()}


def _check(supplier: Supplier, fields: Mapping[str, Any]) -> None:
    """Raise BadInput, all fields at once, for what was typed."""
    problems: dict[str, list[object]] = {
        name: [_("Enter a number from %(low)d to %(high)d.") % {"low": low, "high": high}]
        for name, (low, high) in RANGES.items()
        if name in fields and not low <= fields[name] <= high
    }
    if "name" in fields:
        name = fields["name"].strip()
        others = Supplier.objects.filter(farm_id=supplier.farm_id, name=name).exclude(pk=supplier.pk)
        if not name:
            problems["name"] = [_("Give the supplier a name.")]
        elif others.exists():
            problems["name"] = [_("Another supplier already has this name.")]
    known = {key for key, _name in programmes.choices(supplier.farm_id)}
    if set(fields.get("types") or ()) - known:
        problems["types"] = [_("Choose types that this farm knows.")]
    if problems:
        raise BadInput(problems)
