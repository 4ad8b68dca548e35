"""Housing is added, changed and taken out of use."""

from __future__ import annotations

import secrets
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Housing, Stay
from farm.models.member import Role
from farm.queries import lookup
from farm.services import batch_rules, day_rules, stale
from farm.services.actor import Actor
from farm.services.writing import Log, write
from farm.trade import species

# Read aloud and typed from a card: no letters or digits that look alike.
_CODE_ALPHABET = "23456789abcdefghjkmnpqrstuvwxyz"
_CODE_LENGTH = 10


def add(by: Actor, **fields: Any) -> Housing:
    """Add a housing. `fields` are the model's: name, kind, area_m2, … Raises BadInput by field."""
    with write(by, "add housing", role=Role.KEEPER) as log:
        housing = add_in(log, **fields)
        log.says(housing, _("Housing %(housing)s added") % {"housing": housing})
    return housing


def add_in(log: Log, **fields: Any) -> Housing:
    """Add a housing inside an open write."""
    _check(log.by, fields)
    code = "".join(secrets.choice(_CODE_ALPHABET) for _ in range(_CODE_LENGTH))
    position = Housing.objects.filter(farm=log.farm).count()
    housing = Housing(farm=log.farm, code=code, position=position, **fields)
    log.add(housing)
    return housing


def change(by: Actor, *, housing_id: int, expected_version: int | None, **fields: Any) -> Housing:
    """Change a housing. Its stays must still be possible. Raises Stale, BadInput."""
    with write(by, "change housing", role=Role.KEEPER) as log:
        housing = lookup.get(Housing, farm_id=by.farm_id, pk=housing_id)
        stale.check(housing, expected_version)
        _check(by, fields)
        log.change(housing, **fields)
        for stay in Stay.objects.filter(housing=housing).select_related("batch", "housing"):
            if stay.one_batch != housing.one_batch:
                log.change(stay, one_batch=housing.one_batch)
            _still_possible(stay, by)
        log.says(housing, _("Housing %(housing)s changed") % {"housing": housing})
    return housing


def remove(by: Actor, *, housing_id: int) -> None:
    """Remove a housing that never held birds. Raises BadInput otherwise: end its time in use instead."""
    with write(by, "remove housing", role=Role.KEEPER) as log:
        housing = lookup.get(Housing, farm_id=by.farm_id, pk=housing_id)
        if Stay.objects.filter(housing=housing).exists():
            raise BadInput.at("", _("Birds live or lived here. Set the day it goes out of use instead."))
        log.says(housing, _("Housing %(housing)s removed") % {"housing": housing})
        log.remove(housing)


def _still_possible(stay: Stay, by: Actor) -> None:
    """A rule may be tightened only if no stay breaks it; the message names the batch at the form's own field."""
    try:
        batch_rules.check_stay(stay, by.today, clipped_before=None)
    except BadInput as refused:
        field = {
            "start": "in_service_from",
            "end": "in_service_to",
            "override_reason": "heated",
            "housing_id": "one_batch" if stay.housing.one_batch else "species",
        }
        raise BadInput(
            {
                field.get(name, ""): [f"{stay.batch}: {text}" for text in texts]
                for name, texts in refused.fields.items()
            }
        ) from refused


def _check(by: Actor, fields: dict[str, Any]) -> None:
    problems: dict[str, list[object]] = {}
    for name in ("in_service_from", "in_service_to"):
        if fields.get(name) is not None and abs((fields[name] - by.today).days) > 20 * 366:
            problems[name] = [
                _("%(day)s cannot be right. Check the year.") % {"day": day_rules.shown(fields[name])}
            ]
    unknown = set(fields.get("species") or ()) - set(species.species())
    if unknown:
        problems["species"] = [_("Unknown species: %(names)s.") % {"names": ", ".join(sorted(unknown))}]
    if problems:
        raise BadInput(problems)
