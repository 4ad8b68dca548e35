"""The agenda: dated steps and routine chores from programmes, stays, eggs, orders, dates and the keeper's own chores;
pure, nothing is stored.

A *step* is a dated thing a batch's age, a stay's boundary or a day of incubation calls for. A *chore* is repeated
work in a housing or in a machine for eggs. Keepers add their own of both. All come as `Item`s whose occurrence,
(source, due, round), does not change with names, minutes or head counts.

Give every stay of the batches, not only those of the window: cadences count from the day a housing was
filled, so that the same day says the same in every window. An item belongs to a window when its due day
does: to show windows that opened before today and are still open, start the window earlier. What was put off to
another day is put there by `postponing`; the agenda itself does not know of it.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from farm.planning.agenda import alerts as warnings
from farm.planning.agenda import (
    arrivals,
    boundaries,
    egg_chores,
    eggs,
    errands,
    own_chores,
    placing,
    rooms,
    warmth,
)
from farm.planning.agenda import hand_overs as orders
from farm.planning.agenda.alerts import AgendaAlert
from farm.planning.agenda.building import Builder
from farm.planning.agenda.errands import AgendaErrand
from farm.planning.agenda.hand_overs import AgendaHandOver
from farm.planning.agenda.homes import Homes
from farm.planning.agenda.own_chores import AgendaOwnChore
from farm.planning.agenda.postponing import Postponed
from farm.planning.agenda.records import (
    ROUNDS,
    AgendaBatch,
    AgendaEggSet,
    AgendaMachine,
    AgendaStay,
    Item,
    Outing,
)
from farm.planning.agenda.sorting import in_order
from farm.planning.window import Window
from farm.trade.chores import Chore
from farm.trade.chores import chores as chore_table

__all__ = [
    "ROUNDS",
    "AgendaAlert",
    "AgendaBatch",
    "AgendaEggSet",
    "AgendaErrand",
    "AgendaHandOver",
    "AgendaMachine",
    "AgendaOwnChore",
    "AgendaStay",
    "Item",
    "Outing",
    "Postponed",
    "agenda",
    "chores",
    "steps",
]


def agenda(
    batches: Sequence[AgendaBatch],
    stays: Sequence[AgendaStay],
    window: Window,
    table: Mapping[str, Chore] | None = None,
    egg_sets: Sequence[AgendaEggSet] = (),
    hand_overs: Sequence[AgendaHandOver] = (),
    alerts: Sequence[AgendaAlert] = (),
    to_do: Sequence[AgendaErrand] = (),
    own: Sequence[AgendaOwnChore] = (),
) -> tuple[Item, ...]:
    """Return all steps and chores due in the window, sorted by due day, round, housing and title.

    table: the chore table, the built-in one by default. ValueError when a stay is of a batch that is not
    given.
    """
    homes, build = Homes(batches, stays), Builder(table or chore_table())
    found = _steps(homes, build, window, egg_sets, hand_overs, alerts, to_do, own)
    return in_order([*found, *_chores(homes, build, window, egg_sets, own)])


def steps(
    batches: Sequence[AgendaBatch],
    stays: Sequence[AgendaStay],
    window: Window,
    table: Mapping[str, Chore] | None = None,
    egg_sets: Sequence[AgendaEggSet] = (),
    hand_overs: Sequence[AgendaHandOver] = (),
    alerts: Sequence[AgendaAlert] = (),
    to_do: Sequence[AgendaErrand] = (),
    own: Sequence[AgendaOwnChore] = (),
) -> tuple[Item, ...]:
    """Return the dated steps due in the window, sorted as in `agenda`."""
    homes, build = Homes(batches, stays), Builder(table or chore_table())
    return in_order(_steps(homes, build, window, egg_sets, hand_overs, alerts, to_do, own))


def chores(
    batches: Sequence[AgendaBatch],
    stays: Sequence[AgendaStay],
    window: Window,
    table: Mapping[str, Chore] | None = None,
    egg_sets: Sequence[AgendaEggSet] = (),
    own: Sequence[AgendaOwnChore] = (),
) -> tuple[Item, ...]:
    """Return the chores due in the window, one an occupied housing or machine, day and round, and the keeper's own;
    sorted as in `agenda`.
    """
    return in_order(_chores(Homes(batches, stays), Builder(table or chore_table()), window, egg_sets, own))


def _steps(
    homes: Homes,
    build: Builder,
    window: Window,
    egg_sets: Sequence[AgendaEggSet],
    hand_overs: Sequence[AgendaHandOver],
    alerts: Sequence[AgendaAlert],
    to_do: Sequence[AgendaErrand],
    own: Sequence[AgendaOwnChore],
) -> list[Item]:
    found = [
        item
        for source in (placing.age_steps, arrivals.steps, boundaries.steps)
        for item in source(homes, build)
    ]
    found += eggs.steps(egg_sets, build)
    found += orders.steps(hand_overs, homes, build)
    found += warnings.steps(alerts, homes, build)
    found += errands.steps(to_do, build)
    found = [item for item in found if window.start <= item.due < window.end]
    return list(warmth.marked([*found, *own_chores.steps(own, window)], homes))


def _chores(
    homes: Homes,
    build: Builder,
    window: Window,
    egg_sets: Sequence[AgendaEggSet],
    own: Sequence[AgendaOwnChore],
) -> list[Item]:
    found = rooms.chores(homes, build, window.start, window.end)
    found += egg_chores.chores(egg_sets, build, window.start, window.end)
    return [*found, *warmth.marked(own_chores.routine(own, window), homes)]
