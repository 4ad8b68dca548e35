"""A farm's agenda: what has to be done on which day, and what of it was done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from farm.models import Batch, ChoreMark, Farm, Stay
from farm.models.batch import BatchSource
from farm.planning import agenda
from farm.planning.agenda import AgendaBatch, AgendaEggSet, AgendaStay, Item, Outing
from farm.planning.window import Window
from farm.queries import alerts, errands, hand_overs, hatching, heads, programmes, weather
from farm.queries.weather import Sky

#: How far back a step still open on its own window's last day may have begun.
_OPEN_DAYS = 60


@dataclass(frozen=True, slots=True)
class Due:
    """One item of the agenda with its mark, if it has one."""

    item: Item
    mark: ChoreMark | None

    @property
    def open(self) -> bool:
        """Say whether it is still to do."""
        return self.mark is None


@dataclass(frozen=True, slots=True)
class DayWork:
    """One day of a farm.

    due: what is due that day. before: steps from earlier days that are still open and still matter. kept: marks of
    that day whose chore the agenda no longer has, because a batch or stay has changed since. caught_up: steps from
    earlier days that were marked on this one.
    """

    due: tuple[Due, ...]
    before: tuple[Due, ...]
    kept: tuple[ChoreMark, ...]
    caught_up: tuple[Due, ...] = ()


def for_farm(farm: Farm, window: Window, today: date) -> tuple[Item, ...]:
    """Return all steps and chores due in the window, sorted by day, round, housing and title."""
    batches, stays = _inputs(farm, window.start, today)
    return agenda.agenda(
        batches,
        stays,
        window,
        egg_sets=_egg_sets(farm, window.start),
        hand_overs=hand_overs.for_agenda(farm, today),
        alerts=alerts.for_agenda(farm),
        to_do=errands.for_agenda(farm, window, today),
    )


def marks(farm: Farm, window: Window) -> dict[tuple[str, date, str], ChoreMark]:
    """Return the marks of occurrences due in the window, by (source, due, round)."""
    rows = ChoreMark.objects.filter(farm=farm, due__gte=window.start, due__lt=window.end).select_related(
        "member"
    )
    return {(row.source, row.due, row.round): row for row in rows}


def on_day(farm: Farm, day: date, today: date) -> DayWork:
    """Return what is due on `day`, the steps from before it that are still open, and marks without a chore.

    Routine chores of past days are not carried over: what was missed yesterday morning is done this morning anyway.
    """
    window = Window(day - timedelta(days=_OPEN_DAYS), _OPEN_DAYS + 1)
    done = marks(farm, window)
    batches, stays = _inputs(farm, window.start, today)
    orders = hand_overs.for_agenda(farm, today)
    eggs, open_alerts = _egg_sets(farm, window.start), alerts.for_agenda(farm)
    to_do = errands.for_agenda(farm, window, today)
    items = agenda.agenda(
        batches, stays, Window(day, 1), egg_sets=eggs, hand_overs=orders, alerts=open_alerts, to_do=to_do
    )
    before = Window(window.start, _OPEN_DAYS)
    earlier = agenda.steps(
        batches, stays, before, egg_sets=eggs, hand_overs=orders, alerts=open_alerts, to_do=to_do
    )
    known = {item.occurrence for item in items}
    return DayWork(
        due=tuple(Due(item, done.get(item.occurrence)) for item in items),
        before=tuple(
            Due(item, None) for item in earlier if item.occurrence not in done and _still_matters(item, day)
        ),
        kept=tuple(mark for key, mark in done.items() if mark.due == day and key not in known),
        caught_up=tuple(
            Due(item, done[item.occurrence])
            for item in earlier
            if item.occurrence in done and _local_day(done[item.occurrence], farm) == day
        ),
    )


def find(farm: Farm, source: str, due: date, round: str, today: date) -> Due | None:
    """Return one occurrence with its mark, None when the agenda has no such one (any more)."""
    window = Window(due, 1)
    done = marks(farm, window)
    for item in for_farm(farm, window, today):
        if item.occurrence == (source, due, round):
            return Due(item, done.get(item.occurrence))
    return None


def next_steps(farm: Farm, today: date, days: int = 60) -> dict[int, Item]:
    """Return the next open step of each batch from today on, by its number; batches without one are left out."""
    window = Window(today, days)
    done = marks(farm, window)
    batches, stays = _inputs(farm, today, today)
    found: dict[int, Item] = {}
    eggs, orders = _egg_sets(farm, today), hand_overs.for_agenda(farm, today)
    for item in agenda.steps(batches, stays, window, egg_sets=eggs, hand_overs=orders):
        for key in item.batches:
            if item.occurrence not in done:
                found.setdefault(int(key), item)
    return found


def for_batch(batch: Batch, today: date, days: int) -> list[Due]:
    """Return the steps of one batch from its hatch day on for `days` days of age, with their marks.

    Of one that is still in its eggs, those of the eggs too.
    """
    start = min(batch.hatch_day, batch.arrived_on) - timedelta(days=2)
    if batch.expected and batch.source == BatchSource.OWN_HATCH:
        start, days = batch.egg_set.set_on, days + (start - batch.egg_set.set_on).days
    window = Window(start, days)
    batches, stays = _inputs(batch.farm, start, today, batch)
    done = marks(batch.farm, window)
    orders = [each for each in hand_overs.for_agenda(batch.farm, today) if each.batch == str(batch.pk)]
    eggs = [each for each in hatching.for_agenda(batch.farm, start) if each.batch == str(batch.pk)]
    return [
        Due(item, done.get(item.occurrence))
        for item in agenda.steps(batches, stays, window, egg_sets=eggs, hand_overs=orders)
    ]


def _egg_sets(farm: Farm, since: date) -> tuple[AgendaEggSet, ...]:
    """Return the egg sets that may have steps on `since` or later."""
    return hatching.for_agenda(farm, since - timedelta(days=_OPEN_DAYS))


def _local_day(mark: ChoreMark, farm: Farm) -> date:
    return mark.at.astimezone(ZoneInfo(farm.time_zone)).date()


def _still_matters(item: Item, day: date) -> bool:
    """A step stays on the list through its window, for a week when it has none; some until it is recorded."""
    if item.open_ended:
        return True
    until = item.until or item.due + timedelta(days=7)
    return day < until


def _inputs(
    farm: Farm, since: date, today: date, only: Batch | None = None
) -> tuple[list[AgendaBatch], list[AgendaStay]]:
    """Return the batches that have birds, or had some within _OPEN_DAYS before `since`, with their stays."""
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
        if gone is not None and gone < since - timedelta(days=_OPEN_DAYS) and only is None:
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
