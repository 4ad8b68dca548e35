"""Steps of eggs in a machine: set, candle, lockdown, the hatch, take it out, clean up.

A programme's list of jobs is about birds; eggs ask for all of theirs whatever it holds.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from farm.husbandry import humidity
from farm.husbandry.incubation import Incubation, climate
from farm.phrase import N_, Phrase, Quantity, Value
from farm.planning.agenda.building import Builder
from farm.planning.agenda.homes import DAY, Home
from farm.planning.agenda.records import AgendaEggSet, AgendaMachine, Item


def steps(egg_sets: Sequence[AgendaEggSet], build: Builder) -> Iterator[Item]:
    """Yield every step of the egg sets, and the cleaning of the machines they hatched in."""
    for eggs in egg_sets:
        for item in (*_setting(eggs, build), *_candling(eggs, build), *_hatching(eggs, build)):
            if eggs.ended_on is None or item.due <= eggs.ended_on:
                yield item
    yield from _cleaning(egg_sets, build)


def targets(species: str, machine: AgendaMachine, hatching: bool) -> tuple[Phrase, ...]:
    """Return checklist lines: what thermometer and humidity meter should show for eggs of a species."""
    want = climate(species, machine.air, hatching)
    temps = {"low": Quantity(want.low_c, "degC", bare=True), "high": Quantity(want.high_c, "degC")}
    moist: Mapping[str, Value] = {
        "low": round(want.rh_low),
        "high": round(want.rh_high),
        "wet": Quantity(humidity.wet_bulb_c(want.temp_c, want.rh), "degC"),
    }
    still = N_("Between %(low)s and %(high)s at the height of the egg tops")
    return (
        Phrase(still if machine.air == "still" else N_("Between %(low)s and %(high)s"), temps),
        Phrase(N_("Humidity between %(low)d and %(high)d %%, a wet bulb near %(wet)s"), moist),
    )


def _setting(eggs: AgendaEggSet, build: Builder) -> Iterator[Item]:
    yield _step(
        "set_eggs",
        eggs,
        eggs.setter,
        eggs.set_on,
        build,
        Phrase(
            N_("%(room)s: set %(name)s, %(eggs)d egg"),
            {"room": eggs.setter.name, "eggs": eggs.eggs, "name": eggs.name},
            N_("%(room)s: set %(name)s, %(eggs)d eggs"),
            "eggs",
        ),
        checklist=targets(eggs.species, eggs.setter, False),
    )


def _candling(eggs: AgendaEggSet, build: Builder) -> Iterator[Item]:
    """Yield each candling; the one on lockdown comes in its round, before the eggs are moved and left alone."""
    days = eggs.days
    for due in days.candlings:
        number = (due - eggs.set_on).days
        item = _step(
            "candle",
            eggs,
            eggs.setter,
            due,
            build,
            Phrase(
                N_("%(room)s: candle %(name)s, day %(day)d"),
                {"room": eggs.setter.name, "name": eggs.name, "day": number},
            ),
            part=f"/{number}",
        )
        if due == days.lockdown:
            yield replace(item, round=build.table["lockdown"].rounds[0])
        elif due != days.candlings[0]:
            yield replace(item, why=Phrase(N_("A look in between; it may be left out")))
        else:
            yield item


def _hatching(eggs: AgendaEggSet, build: Builder) -> Iterator[Item]:
    days, room = eggs.days, eggs.hatcher.name
    values = {"room": room, "name": eggs.name}
    if eggs.setter.key == eggs.hatcher.key:
        moved = Phrase(N_("%(room)s: turning of %(name)s stops, humidity up"), values)
    else:
        moved = Phrase(
            N_("%(room)s: move in %(name)s from %(setter)s"), {**values, "setter": eggs.setter.name}
        )
    damp = targets(eggs.species, eggs.hatcher, True)
    yield _step("lockdown", eggs, eggs.hatcher, days.lockdown, build, moved, checklist=damp)
    hatch = Phrase(
        N_("%(room)s: hatch of %(name)s about %(day)s, write down how many"),
        {**values, "day": days.hatch_day},
    )
    last = days.hatch_last + DAY
    until = last if eggs.ended_on is None else max(days.hatch_first + DAY, min(last, eggs.ended_on))
    waits = eggs.ended_on is None
    yield replace(
        _step("hatch", eggs, eggs.hatcher, days.hatch_first, build, hatch, until=until), open_ended=waits
    )
    out = Phrase(N_("%(room)s: take out the hatch of %(name)s"), values)
    yield _step("hatch_out", eggs, eggs.hatcher, days.hatch_day, build, out, until=days.out_latest + DAY)


def _cleaning(egg_sets: Sequence[AgendaEggSet], build: Builder) -> Iterator[Item]:
    """Yield one cleaning a machine and day on which its last hatch has left it."""
    dated = [(eggs, eggs.days) for eggs in sorted(egg_sets, key=lambda eggs: eggs.key)]
    left: dict[tuple[str, date], list[AgendaEggSet]] = {}
    for eggs, days in dated:
        if eggs.ended_on is None or eggs.ended_on >= days.lockdown:
            left.setdefault((eggs.hatcher.key, days.out_latest), []).append(eggs)
    for (key, day), gone in left.items():
        if any(_in_machine(eggs, days, key, day) for eggs, days in dated):
            continue
        machine = gone[0].hatcher
        names = ", ".join(sorted(eggs.name for eggs in gone))
        yield build.step(
            "clean_machine",
            f"{machine.room}/clean_machine",
            day,
            _home(machine, sum(eggs.eggs for eggs in gone)),
            Phrase(N_("%(room)s: clean up after %(names)s"), {"room": machine.name, "names": names}),
            build.whys["clean_machine"],
            batches=tuple(key for eggs in gone for key in eggs.batches),
        )


def _in_machine(eggs: AgendaEggSet, days: Incubation, machine: str, day: date) -> bool:
    """Say whether eggs that came before `day` are in the machine on it."""
    spells = (
        (eggs.setter.key, days.set_on, days.lockdown),
        (eggs.hatcher.key, days.lockdown, days.out_latest),
    )
    here = any(key == machine and start < day < end for key, start, end in spells)
    return here and (eggs.ended_on is None or day < eggs.ended_on)


def _home(machine: AgendaMachine, eggs: int) -> Home:
    return Home(machine.room, machine.name, eggs, indoor=True, heated=True, first=True)


def _step(
    job: str,
    eggs: AgendaEggSet,
    machine: AgendaMachine,
    due: date,
    build: Builder,
    title: Phrase,
    *,
    part: str = "",
    until: date | None = None,
    checklist: tuple[Phrase, ...] = (),
) -> Item:
    return build.step(
        job,
        f"eggs:{eggs.key}/{job}{part}",
        due,
        _home(machine, eggs.eggs),
        title,
        build.whys[job],
        batches=eggs.batches,
        until=until,
        checklist=checklist,
    )
