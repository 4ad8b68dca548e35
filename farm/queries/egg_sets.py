"""One egg set: its days, what was found of its eggs, and what may still hatch."""

from __future__ import annotations

import math
from datetime import date

from farm.husbandry import incubation, odds
from farm.husbandry.incubation import Air, Incubation
from farm.husbandry.odds import Stage
from farm.models import EggSet, Farm, Machine
from farm.models.egg_set import EggKind, EggSetState
from farm.planning.agenda import AgendaEggSet, AgendaMachine
from farm.queries import programmes
from farm.queries.hatch_rates import CANDLED, FarmRates


def dates_of(row: EggSet) -> Incubation:
    """Return the days of an egg set by the programme version it was set with."""
    return incubation.incubation(programmes.of_version(row.programme_version), row.set_on)


def outlook(row: EggSet, rates: FarmRates) -> tuple[int, tuple[Stage, ...]]:
    """Return the eggs of an open set that may still hatch and what they have to pass.

    Once it was candled, the eggs left in are those that live.
    """
    programme, results = programmes.of_version(row.programme_version), results_of(row)
    month = dates_of(row).hatch_day.month
    candled = any(results.get(kind) for kind in CANDLED)
    stages = rates.stages_of_fertile if candled else rates.stages
    return left_of(row), stages(programme, row.stored_days, month)


def birds_expected(row: EggSet, rates: FarmRates) -> int:
    """Return the chicks to expect of an open set: the mean, rounded up."""
    eggs, stages = outlook(row, rates)
    return math.ceil(round(odds.mean(odds.birds(eggs, stages)), 6))


def results_of(row: EggSet) -> dict[str, int]:
    """Return the eggs of a set, saved or not, by what was found of them; kinds without any are left out."""
    found: dict[str, int] = {}
    if row.pk is None:
        return found
    for entry in row.entries.all():
        found[entry.kind] = found.get(entry.kind, 0) + entry.eggs
    return found


def left_of(row: EggSet) -> int:
    """Return the eggs of a set of which nothing is recorded yet."""
    return row.eggs - sum(eggs for kind, eggs in results_of(row).items() if kind != EggKind.CULLED)


def for_agenda(farm: Farm, since: date) -> tuple[AgendaEggSet, ...]:
    """Return the egg sets that ask for work, the open ones and those that hatched on `since` or later."""
    found = EggSet.objects.filter(farm=farm).exclude(state=EggSetState.CANCELLED)
    found = found.exclude(state=EggSetState.HATCHED, hatched_on__lt=since)
    return tuple(
        AgendaEggSet(
            key=str(row.pk),
            batch=None if row.batch_id is None else str(row.batch_id),
            name=row.name,
            species=row.species,
            programme=programmes.of_version(row.programme_version),
            eggs=row.eggs,
            setter=_agenda_machine(row.setter),
            hatcher=_agenda_machine(row.hatcher),
            set_on=row.set_on,
            ended_on=row.hatched_on,
        )
        for row in found.select_related("programme_version", "setter", "hatcher")
    )


def _agenda_machine(row: Machine) -> AgendaMachine:
    air: Air = "still" if row.air == "still" else "forced"
    return AgendaMachine(key=str(row.pk), name=row.name, air=air, turns_itself=row.turns_itself)
