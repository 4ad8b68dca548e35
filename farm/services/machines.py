"""Machines for eggs are added, changed and taken out of use."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from farm.models import Machine
from farm.models.member import Role
from farm.queries import hatching, lookup
from farm.services import machine_rules, stale
from farm.services.actor import Actor
from farm.services.writing import write


def add(by: Actor, **fields: Any) -> Machine:
    """Add a machine. `fields` are the model's: name, does, medium_eggs, … Raises BadInput by field."""
    with write(by, "add machine", role=Role.KEEPER) as log:
        machine = Machine(farm=log.farm, **machine_rules.tidied(fields))
        machine_rules.check(machine, fields, by.today)
        log.add(machine)
        log.says(machine, _("Machine %(machine)s added") % {"machine": machine})
    return machine


def change(by: Actor, *, machine_id: int, expected_version: int | None, **fields: Any) -> Machine:
    """Change a machine. The open egg sets in it must still be possible. Raises Stale, BadInput."""
    with write(by, "change machine", role=Role.KEEPER) as log:
        machine = lookup.get(Machine, farm_id=by.farm_id, pk=machine_id)
        stale.check(machine, expected_version)
        machine_rules.check(machine, fields, by.today)
        fields = machine_rules.tidied(fields)
        before = hatching.conflicts(log.farm)
        moved = {name for name, value in fields.items() if getattr(machine, name) != value}
        log.change(machine, **fields)
        machine_rules.check_still_possible(before, log.farm, moved)
        log.says(machine, _("Machine %(machine)s changed") % {"machine": machine})
    return machine


def remove(by: Actor, *, machine_id: int, expected_version: int | None = None) -> None:
    """Remove a machine no egg set names. Raises Stale, BadInput otherwise: end its time in use instead."""
    with write(by, "remove machine", role=Role.KEEPER) as log:
        machine = lookup.get(Machine, farm_id=by.farm_id, pk=machine_id)
        stale.check(machine, expected_version)
        machine_rules.check_unused(machine)
        log.says(machine, _("Machine %(machine)s removed") % {"machine": machine})
        log.remove(machine)
