"""Housing is added, changed and taken out of use."""

from __future__ import annotations

import secrets
from typing import Any

from django.utils.translation import gettext as _

from farm import dispatch
from farm.models import Housing, Stay
from farm.models.member import Role
from farm.queries import lookup
from farm.services import housing_rules, stale
from farm.services.actor import Actor
from farm.services.writing import Log, write

# Read aloud and typed from a card: no letters or digits that look alike.
_CODE_ALPHABET = "23456789abcdefghjkmnpqrstuvwxyz"
_CODE_LENGTH = 10
#: What a plan is made of: a change of these may call for another.
_ROOM = frozenset(
    {
        "area_m2",
        "feeder_cm",
        "drinker_cm",
        "heated",
        "in_service_from",
        "in_service_to",
        "one_batch",
        "rest_days",
        "supplement_c",
    }
)


def add(by: Actor, **fields: Any) -> Housing:
    """Add a housing. `fields` are the model's: name, kind, area_m2, … Raises BadInput by field."""
    with write(by, "add housing", role=Role.KEEPER) as log:
        housing = add_in(log, **fields)
        log.says(housing, _("Housing %(housing)s added") % {"housing": housing})
    return housing


def add_in(log: Log, **fields: Any) -> Housing:
    """Add a housing inside an open write."""
    housing = Housing(farm=log.farm, **housing_rules.tidied(fields))
    housing_rules.check(housing, fields, log.by.today)
    housing.code, housing.position = new_code(), Housing.objects.filter(farm=log.farm).count()
    log.add(housing)
    return housing


def new_code() -> str:
    """Return what a housing's card may carry: a code that nobody guesses and that is easy to type."""
    return "".join(secrets.choice(_CODE_ALPHABET) for _ in range(_CODE_LENGTH))


def change(by: Actor, *, housing_id: int, expected_version: int | None, **fields: Any) -> Housing:
    """Change a housing. The stays in it from today on must still be possible. Raises Stale, BadInput."""
    with write(by, "change housing", role=Role.KEEPER) as log:
        housing = lookup.get(Housing, farm_id=by.farm_id, pk=housing_id)
        stale.check(housing, expected_version)
        housing_rules.check(housing, fields, by.today)
        fields = housing_rules.tidied(fields)
        moved = {name for name, value in fields.items() if getattr(housing, name) != value}
        log.change(housing, **fields)
        for stay in Stay.objects.filter(housing=housing).select_related("batch__programme_version"):
            stay.housing = housing
            housing_rules.check_still_possible(stay, by.today, moved=moved)
            if stay.one_batch != housing.one_batch:
                log.change(stay, one_batch=housing.one_batch)
        log.says(housing, _("Housing %(housing)s changed") % {"housing": housing})
        if moved & _ROOM:
            dispatch.after_commit("propose_after", farm_id=by.farm_id, why="housing")
    return housing


def remove(by: Actor, *, housing_id: int, expected_version: int | None = None) -> None:
    """Remove a housing without stays or records. Raises Stale, BadInput otherwise: end its time in use instead."""
    with write(by, "remove housing", role=Role.KEEPER) as log:
        housing = lookup.get(Housing, farm_id=by.farm_id, pk=housing_id)
        stale.check(housing, expected_version)
        housing_rules.check_unused(housing)
        log.says(housing, _("Housing %(housing)s removed") % {"housing": housing})
        log.remove(housing)
