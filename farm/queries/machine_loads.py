"""A farm's machines and the eggs in them as the planning parts know them. Keys are numbers, as text."""

from __future__ import annotations

from farm.models import EggSet, Farm, Machine
from farm.models.egg_set import EggSetState
from farm.planning import machines as planning
from farm.planning.machines import Conflict
from farm.queries.egg_sets import dates_of
from farm.trade.eggs import SIZES, egg_kind


def machine_records(farm: Farm) -> tuple[tuple[planning.Machine, ...], tuple[planning.EggLoad, ...]]:
    """Return the farm's machines and what its open egg sets put into them. Keys are numbers, as text."""
    sets = EggSet.objects.filter(farm=farm, state=EggSetState.OPEN).select_related("programme_version")
    machines = tuple(machine(each) for each in Machine.objects.filter(farm=farm))
    return machines, tuple(load(each) for each in sets)


def conflicts(farm: Farm) -> tuple[Conflict, ...]:
    """Return every conflict of the farm's open egg sets with its machines."""
    return planning.conflicts(*machine_records(farm))


def machine(row: Machine) -> planning.Machine:
    """Return one machine as the planning parts know it."""
    return planning.Machine(
        key=str(row.pk),
        name=row.name,
        does=row.does,
        capacity={size: getattr(row, f"{size}_eggs") for size in SIZES},
        species=frozenset(row.species),
        air=row.air,
        cleaning_days=row.cleaning_days,
        in_service_from=row.in_service_from,
        in_service_to=row.in_service_to,
    )


def load(row: EggSet) -> planning.EggLoad:
    """Return what an egg set puts into its machines; one that has hatched until the day it did."""
    dates = dates_of(row)
    return planning.EggLoad(
        key=str(row.pk),
        name=row.name,
        species=row.species,
        size=egg_kind(row.species).size,
        eggs=row.eggs,
        setter=str(row.setter_id),
        hatcher=str(row.hatcher_id),
        set_on=row.set_on,
        lockdown=dates.lockdown,
        hatch_day=max(row.hatched_on or dates.hatch_day, dates.lockdown),
    )
