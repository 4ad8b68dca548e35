"""A farm's own rules for proposals: how sure, on which days, and what weighs how much."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from farm.models import Farm, OrderingRules
from farm.models.member import Role
from farm.queries import ordering
from farm.services import stale
from farm.services.actor import Actor
from farm.services.writing import write

_CHANGEABLE = frozenset(
    {"confidence", "set_weekdays", "hatch_weekdays", "unmet_cost", "batch_cost", "spare_cost"}
)


def get(farm: Farm) -> OrderingRules:
    """Return the farm's rules; those it begins with, version 0 and not saved, where it has none yet."""
    return ordering.rules(farm)


def change(by: Actor, *, expected_version: int | None, **fields: Any) -> OrderingRules:
    """Change any of confidence, set_weekdays, hatch_weekdays (0 = Monday; empty: any), unmet_cost, batch_cost,
    spare_cost. Raises Stale, BadInput.
    """
    if not fields.keys() <= _CHANGEABLE:
        raise TypeError(f"not rules for proposals: {sorted(fields.keys() - _CHANGEABLE)}")
    with write(by, "change ordering rules", role=Role.KEEPER) as log:
        rules = get(log.farm)
        stale.check(rules, expected_version)
        for name in ("set_weekdays", "hatch_weekdays"):
            if name in fields:
                fields[name] = sorted(fields[name])
        if rules.pk is None:
            for name, value in fields.items():
                setattr(rules, name, value)
            rules.version = 1
            log.add(rules)
        else:
            log.change(rules, **fields)
        log.says(rules, _("Rules for proposals changed"))
    return rules
