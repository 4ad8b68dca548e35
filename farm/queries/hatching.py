"""Egg sets and machines as pages, rules and plans read them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from farm.husbandry import incubation, odds
from farm.husbandry.incubation import Incubation
from farm.models import EggSet, Farm, Machine
from farm.models.egg_set import EggSetState
from farm.phrase import N_, Phrase
from farm.planning import machines as planning
from farm.planning.machines import Conflict, MachineDay
from farm.planning.window import Window
from farm.queries.egg_sets import birds_expected, dates_of, for_agenda, left_of, outlook, results_of
from farm.queries.hatch_rates import FarmRates
from farm.queries.machine_loads import conflicts, load, machine, machine_records
from farm.trade.eggs import egg_kind

__all__ = [
    "birds_expected",
    "conflicts",
    "dates_of",
    "for_agenda",
    "for_farm",
    "left_of",
    "load",
    "machine",
    "machine_records",
    "outlook",
    "results_of",
    "row",
]

PLANNED, TURNED, HATCHING, OVERDUE = "planned", "turned", "hatching", "overdue"


@dataclass(frozen=True, slots=True)
class SetRow:
    """One egg set on a day.

    state: "planned", "turned", "hatching" or "overdue" (the hatch should be over and is not recorded); of one that is
    over "hatched" or "cancelled". results: eggs by kind so far. left: eggs of which nothing is recorded yet.
    expected, low, high: chicks, of an open one; 8 hatches in 10 lie between low and high. conflicts: with machines.
    """

    egg_set: EggSet
    dates: Incubation
    state: str
    results: Mapping[str, int]
    left: int
    expected: float
    low: int
    high: int
    warnings: tuple[Phrase, ...]
    conflicts: tuple[Conflict, ...]


@dataclass(frozen=True, slots=True)
class MachineRow:
    """One machine over a window, with the sets in it on any of its days."""

    machine: Machine
    days: tuple[MachineDay, ...]
    sets: tuple[SetRow, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """A farm's machines over a window, and all its egg sets by set day, newest last."""

    window: Window
    machines: tuple[MachineRow, ...]
    sets: tuple[SetRow, ...]


def for_farm(farm: Farm, window: Window, today: date) -> Sheet:
    """Return the machines and egg sets of a farm. A steady number of queries, however many there are."""
    rows = list(_sets(farm))
    found = _rows(farm, rows, today)
    machines, loads = list(Machine.objects.filter(farm=farm)), [load(row) for row in rows if _fills(row)]
    days = planning.by_day([machine(each) for each in machines], loads, window)
    return Sheet(
        window=window,
        machines=tuple(
            MachineRow(
                each,
                days[str(each.pk)],
                tuple(
                    row
                    for row in found
                    if any(str(row.egg_set.pk) in day.loads for day in days[str(each.pk)])
                ),
            )
            for each in machines
        ),
        sets=tuple(found),
    )


def row(egg_set: EggSet, today: date) -> SetRow:
    """Return one egg set as its page reads it."""
    return _rows(egg_set.farm, [_sets(egg_set.farm).get(pk=egg_set.pk)], today)[0]


def _sets(farm: Farm) -> QuerySet[EggSet]:
    return (
        EggSet.objects.filter(farm=farm)
        .select_related("farm", "programme_version__programme", "setter", "hatcher", "batch")
        .prefetch_related("entries")
    )


def _fills(row: EggSet) -> bool:
    return row.state != EggSetState.CANCELLED


def _rows(farm: Farm, rows: Iterable[EggSet], today: date) -> list[SetRow]:
    rates, clashes = FarmRates(farm), conflicts(farm)
    return [_row(row, rates, clashes, today) for row in rows]


def _row(row: EggSet, rates: FarmRates, clashes: Iterable[Conflict], today: date) -> SetRow:
    dates, state = dates_of(row), _state(row, today)
    expected, low, high = 0.0, 0, 0
    if row.state == EggSetState.OPEN:
        law = odds.birds(*outlook(row, rates))
        expected, (low, high) = odds.mean(law), odds.band(law)
    return SetRow(
        egg_set=row,
        dates=dates,
        state=state,
        results=results_of(row),
        left=left_of(row),
        expected=expected,
        low=low,
        high=high,
        warnings=tuple(_warnings(row, dates, state, today)),
        conflicts=tuple(each for each in clashes if str(row.pk) in each.loads),
    )


def _state(row: EggSet, today: date) -> str:
    if row.state != EggSetState.OPEN:
        return row.state
    dates = dates_of(row)
    if today < row.set_on:
        return PLANNED
    if today < dates.lockdown:
        return TURNED
    return HATCHING if today <= dates.hatch_last else OVERDUE


def _warnings(row: EggSet, dates: Incubation, state: str, today: date) -> Iterable[Phrase]:
    verdict = incubation.storage(row.species, row.stored_days)
    if verdict != "fine" and row.state == EggSetState.OPEN:
        best = egg_kind(row.species).best_storage_days
        yield Phrase(
            N_("Stored %(days)d day: fewer hatch of eggs older than %(best)s days when set"),
            {"days": row.stored_days, "best": str(best)},
            N_("Stored %(days)d days: fewer hatch of eggs older than %(best)s days when set"),
            "days",
        )
    if state == OVERDUE:
        yield Phrase(
            N_("The hatch should have been over on %(day)s. Record what hatched, even if none did"),
            {"day": dates.hatch_last},
        )
    elif state == HATCHING and today > dates.hatch_day:
        yield Phrase(N_("They were expected on %(day)s"), {"day": dates.hatch_day})
