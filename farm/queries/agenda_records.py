"""The records a farm's agenda is made from, read once for a span of days."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from farm.models import Batch, Farm, Postponement, Stay
from farm.planning import agenda
from farm.planning.agenda import (
    AgendaAlert,
    AgendaBatch,
    AgendaEggSet,
    AgendaErrand,
    AgendaHandOver,
    AgendaOwnChore,
    AgendaStay,
    Item,
    Outing,
    Postponed,
    postponing,
)
from farm.planning.agenda import own_chores as own_items
from farm.planning.window import Window
from farm.queries import alerts, errands, hand_overs, hatching, heads, own_chores, programmes, weather
from farm.queries.weather import Sky

#: How far back a step still open on its own window's last day may have begun.
OPEN_DAYS = 60
#: What identifies an occurrence: source, and the day and round it was first due.
Occurrence = tuple[str, date, str]


@dataclass(frozen=True, slots=True)
class Records:
    """What was read. span: the days whose items can be asked for, with those from which something was put off there."""

    span: Window
    postponed: tuple[Postponed, ...]
    batches: list[AgendaBatch]
    stays: list[AgendaStay]
    egg_sets: tuple[AgendaEggSet, ...]
    hand_overs: tuple[AgendaHandOver, ...]
    alerts: tuple[AgendaAlert, ...]
    to_do: tuple[AgendaErrand, ...]
    own: tuple[AgendaOwnChore, ...]

    @property
    def put_off(self) -> frozenset[Occurrence]:
        """Return the occurrences that are not done when they were first due."""
        return frozenset(each.occurrence for each in self.postponed)

    def agenda(self, window: Window) -> tuple[Item, ...]:
        """Return the steps and chores to be done in a window of the span."""
        return postponing.gather(self._all, self.postponed, window)

    def steps(self, window: Window) -> tuple[Item, ...]:
        """Return the steps to be done in a window of the span."""
        return postponing.gather(self._steps, self.postponed, window)

    def still_open(self, day: date) -> tuple[Item, ...]:
        """Return own chores first due before `day`, however long ago, that stay on the list until they are done."""
        return tuple(
            item for item in own_items.still_open(self.own, day) if item.occurrence not in self.put_off
        )

    def find(self, key: Occurrence) -> Item | None:
        """Return one occurrence where it is to be done now, None when there is no such one."""
        moves = {each.occurrence: each for each in self.postponed}
        for item in self._all(Window(key[1], 1)):
            if item.occurrence == key:
                return postponing.move(item, moves[key]) if key in moves else item
        return None

    def _all(self, window: Window) -> Iterable[Item]:
        return self._ask(agenda.agenda, window)

    def _steps(self, window: Window) -> Iterable[Item]:
        return self._ask(agenda.steps, window)

    def _ask(self, what: Callable[..., tuple[Item, ...]], window: Window) -> tuple[Item, ...]:
        return what(
            self.batches,
            self.stays,
            window,
            egg_sets=self.egg_sets,
            hand_overs=self.hand_overs,
            alerts=self.alerts,
            to_do=self.to_do,
            own=self.own,
        )


def read(
    farm: Farm, window: Window, today: date, only: Batch | None = None, *, of_batches: bool = False
) -> Records:
    """Read what a farm's agenda of the window is made from.

    only: what one batch's age and stays ask for, and no more. of_batches: so of every batch.
    """
    of_batches = of_batches or only is not None
    postponed = _postponed(farm, window)
    span = postponing.span(postponed, window)
    batches, stays = _inputs(farm, span.start, today, only)
    eggs = hatching.for_agenda(farm, span.start - timedelta(days=OPEN_DAYS))
    orders = hand_overs.for_agenda(farm, today)
    if only is not None:
        key = str(only.pk)
        eggs = tuple(each for each in eggs if each.batch == key)
        orders = tuple(each for each in orders if each.batch == key)
    return Records(
        span=span,
        postponed=postponed,
        batches=batches,
        stays=stays,
        egg_sets=tuple(eggs),
        hand_overs=tuple(orders),
        alerts=() if of_batches else tuple(alerts.for_agenda(farm)),
        to_do=() if of_batches else errands.for_agenda(farm, span, today),
        own=() if of_batches else own_chores.for_agenda(farm),
    )


def _postponed(farm: Farm, window: Window) -> tuple[Postponed, ...]:
    """Return what was put off out of the window or into it."""
    rows = Postponement.objects.filter(farm=farm, due__lt=window.end, to_due__gte=window.start)
    return tuple(
        Postponed(row.source, row.due, row.round, row.to_due, row.to_round) for row in rows.order_by("pk")
    )


def _inputs(
    farm: Farm, since: date, today: date, only: Batch | None = None
) -> tuple[list[AgendaBatch], list[AgendaStay]]:
    """Return the batches that have birds, or had some within OPEN_DAYS before `since`, with their stays."""
    rows = (
        Batch.objects.filter(farm=farm)
        .select_related("programme_version")
        .prefetch_related("count_entries", "stays__housing")
    )
    if only is not None:
        rows = rows.filter(pk=only.pk)
    batches, stays = [], []
    sky = weather.of(farm)
    for row in rows:
        gone = heads.gone_on(row)
        if gone is not None and gone < since - timedelta(days=OPEN_DAYS) and only is None:
            continue
        batches.append(_batch(row, sky))
        leaving = gone or _leaving(row, today)
        stays += [
            _stay(stay, birds, leaving, today) for stay, birds in _with_birds(row) if _lived(stay, gone)
        ]
    return batches, stays


def _lived(stay: Stay, gone: date | None) -> bool:
    """A stay planned for after the last bird left never comes."""
    return gone is None or stay.start <= gone


def _with_birds(row: Batch) -> list[tuple[Stay, int]]:
    """Return the stays with the birds they really start with: losses may have left a planned stay fewer."""
    stays = list(row.stays.all())
    short = heads.clipped(row)
    return [
        (stay, stay.birds - short.get(stay.pk, 0)) for stay in stays if stay.birds > short.get(stay.pk, 0)
    ]


def _batch(row: Batch, sky: Sky | None) -> AgendaBatch:
    programme = programmes.of(row)
    return AgendaBatch(
        key=str(row.pk),
        name=row.name,
        species=row.species,
        hatch_day=row.hatch_day,
        programme=programme,
        sex=row.sex,
        source=row.source,
        arrived_on=row.arrived_on,
        expected=sum(entry.birds for entry in row.count_entries.all()) if row.expected else None,
        out=None if sky is None else Outing(*sky.out(programme, row.hatch_day)),
    )


def _stay(stay: Stay, birds: int, leaving: date | None, today: date) -> AgendaStay:
    housing = stay.housing
    return AgendaStay(
        key=str(stay.pk),
        batch=str(stay.batch_id),
        room=str(housing.pk),
        room_name=housing.name,
        start=stay.start,
        end=_end(stay, leaving, today),
        birds=birds,
        indoor=housing.indoor,
        heated=housing.heated,
        rest_days=housing.rest_days,
    )


def _leaving(batch: Batch, today: date) -> date | None:
    """Return the day a batch is expected to go; once that day has come, birds that are still here need their work."""
    return batch.leaves_on if batch.leaves_on is not None and batch.leaves_on > today else None


def _end(stay: Stay, leaving: date | None, today: date) -> date | None:
    leaves_on = stay.batch.leaves_on
    if leaves_on is not None and stay.end == leaves_on <= today and (leaving is None or leaving > leaves_on):
        return leaving  # they should have gone and have not: whoever is still here needs food and water
    if leaving is None or (stay.end is not None and stay.end <= leaving):
        return stay.end
    # A stay has at least one day, also when its birds left on their first.
    return max(leaving, stay.start + timedelta(days=1))
