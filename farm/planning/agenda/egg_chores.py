"""Routine chores of machines that hold eggs: one a machine, day and round, for all egg sets in it together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise

from farm.husbandry.incubation import climate
from farm.phrase import N_, Phrase, Quantity
from farm.planning.agenda.building import Builder
from farm.planning.agenda.eggs import targets
from farm.planning.agenda.homes import DAY
from farm.planning.agenda.records import AgendaEggSet, AgendaMachine, Item


@dataclass(frozen=True, slots=True)
class _Spell:
    """One egg set in one machine on [start, end); `turned` from `turn_from` unless it is hatching."""

    eggs: AgendaEggSet
    machine: AgendaMachine
    hatching: bool
    start: date
    end: date
    turn_from: date


def chores(egg_sets: Sequence[AgendaEggSet], build: Builder, start: date, end: date) -> list[Item]:
    """Return the chores due on the days [start, end), in no order."""
    by_machine: dict[str, list[_Spell]] = {}
    for eggs in sorted(egg_sets, key=lambda eggs: (eggs.set_on, eggs.key)):
        for spell in _spells(eggs):
            by_machine.setdefault(spell.machine.key, []).append(spell)
    found: list[Item] = []
    for spells in by_machine.values():
        edges = {day for spell in spells for day in (spell.start, spell.turn_from, spell.end)} | {start, end}
        for first, stop in pairwise(sorted(day for day in edges if start <= day <= end)):
            there = [spell for spell in spells if spell.start <= first < spell.end]
            if there:
                found += _asked(there, build, first, stop)
    return found


def _spells(eggs: AgendaEggSet) -> Iterator[_Spell]:
    """Yield where the eggs are; nobody is asked for anything from the day the hatch was recorded."""
    days = eggs.days
    for machine, hatching, start, end in (
        (eggs.setter, False, days.set_on, days.lockdown),
        (eggs.hatcher, True, days.lockdown, days.out_latest),
    ):
        stop = end if eggs.ended_on is None else min(end, eggs.ended_on)
        if start < stop:
            yield _Spell(eggs, machine, hatching, start, stop, min(stop, max(start, days.turn_from)))


def _asked(there: list[_Spell], build: Builder, first: date, stop: date) -> Iterator[Item]:
    """Yield the chores of one machine on [first, stop), on all of whose days the same eggs need the same."""
    machine = there[0].machine
    lead = max(there, key=lambda spell: spell.hatching)  # what hatches is most at risk; else the first set
    want = climate(lead.eggs.species, machine.air, lead.hatching)
    check = Phrase(
        N_("%(room)s: check for %(temp)s and %(rh)d %% humidity"),
        {"room": machine.name, "temp": Quantity(want.temp_c, "degC"), "rh": round(want.rh)},
    )
    lines = {
        str(line): line for spell in there for line in targets(spell.eggs.species, machine, spell.hatching)
    }
    yield from _dealt("check_machine", there, check, build, first, stop, tuple(lines.values()))
    yield from _dealt("refill_water", there, _title("refill_water", machine, build), build, first, stop)
    turned = [spell for spell in there if not spell.hatching and spell.turn_from <= first]
    if turned and not machine.turns_itself:
        yield from _dealt("turn_eggs", turned, _title("turn_eggs", machine, build), build, first, stop)


def _title(job: str, machine: AgendaMachine, build: Builder) -> Phrase:
    return Phrase(N_("%(room)s: %(chore)s"), {"room": machine.name, "chore": build.titles[job]})


def _dealt(
    job: str,
    spells: list[_Spell],
    title: Phrase,
    build: Builder,
    first: date,
    stop: date,
    lines: tuple[Phrase, ...] = (),
) -> Iterator[Item]:
    chore, machine = build.table[job], spells[0].machine
    batches = tuple(dict.fromkeys(key for spell in spells for key in spell.eggs.batches))
    due = first
    while due < stop:
        for round_ in chore.rounds:
            yield Item(
                source=f"{machine.room}/{job}",
                kind="chore",
                job=job,
                batch=None,
                batches=batches,
                room=machine.room,
                room_name=machine.name,
                due=due,
                until=None,
                round=round_,
                title=title,
                why=build.whys[job],
                source_key=chore.source,
                age_days=None,
                minutes=build.minutes(job, sum(spell.eggs.eggs for spell in spells)),
                who=chore.who,
                cautions=chore.cautions,
                checklist=build.checklists[job] + lines,
                needs=chore.needs,
                care=chore.care,
            )
        due += DAY
