"""A farm's rows as an occupancy problem, solved: the load of each housing on each day, and what breaks."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from farm.husbandry import needs
from farm.models import Batch, Farm, Housing, Stay
from farm.phrase import Phrase
from farm.planning import check, explain, heads
from farm.planning.breach import Breach
from farm.planning.occupancy import Group, Ints, Occupancy, Part, Room, occupancy
from farm.planning.window import Window
from farm.queries import heads as head_rows
from farm.queries import naming, programmes
from farm.trade import mixing

_AGES = 400  # days of age a curve is read for; older birds hold the last value


@dataclass(frozen=True, slots=True)
class Sheet:
    """One farm over one window. Rooms and groups are keyed by the numbers of housings and batches, as text.

    unhoused: birds without a housing on each day of the window, by batch.
    """

    window: Window
    housings: dict[str, Housing]
    batches: dict[str, Batch]
    stays: dict[str, Stay]
    occupancy: Occupancy
    breaches: tuple[Breach, ...]
    unhoused: dict[str, Ints]

    def sentence(self, breach: Breach) -> Phrase:
        """Return one breach in a plain sentence with its numbers."""
        return explain.sentence(breach, self.occupancy)


def for_farm(farm: Farm, window: Window, today: date) -> Sheet:
    """Return the farm's occupancy over `window`. Four queries, however many batches.

    Birds are planned on the safe side: from today on no further losses are assumed. A batch's birds are expected to be
    gone from its leaving day on, unless that day has passed and they are still here.
    """
    housings = {str(row.pk): row for row in Housing.objects.filter(farm=farm)}
    # Some ground must rest for years between species: stays that long ago still count.
    ground = [rule.rest_days for rule in mixing.mixing().pairs]
    longest_rest = max([*(row.rest_days for row in housings.values()), *ground])
    batches = _batches(farm, window, longest_rest)
    parts: list[Part] = []
    unhoused: dict[str, Ints] = {}
    for batch in batches.values():
        spans = [_until_leaving(span, batch, today) for span in head_rows.spans(list(batch.stays.all()))]
        held, free = heads.by_stay(head_rows.lines(list(batch.count_entries.all())), spans, window)
        reasons = {str(stay.pk): bool(stay.override_reason.strip()) for stay in batch.stays.all()}
        parts += [
            Part(
                stay=span.key,
                group=str(batch.pk),
                room=span.room,
                start=span.start,
                end=span.end,
                birds=held[span.key],
                override=reasons[span.key],
            )
            for span in spans
        ]
        gone = _leaving(batch, today)
        columns = None if gone is None else window.clip(gone, None)
        if columns is not None:
            free[columns] = 0
        unhoused[str(batch.pk)] = free
    load = occupancy(
        window, [_room(row) for row in housings.values()], [_group(b, today) for b in batches.values()], parts
    )
    return Sheet(
        window=window,
        housings=housings,
        batches=batches,
        stays={str(stay.pk): stay for batch in batches.values() for stay in batch.stays.all()},
        occupancy=load,
        breaches=check.breaches(load, unhoused, mixing.mixing().apart),
        unhoused=unhoused,
    )


def _batches(farm: Farm, window: Window, longest_rest: int) -> dict[str, Batch]:
    rows = (
        Batch.objects.filter(farm=farm, arrived_on__lt=window.end)
        .select_related("programme_version")
        .prefetch_related("count_entries", "stays")
    )
    since = window.start - timedelta(days=longest_rest)
    return {
        str(row.pk): row
        for row in rows
        if sum(entry.birds for entry in row.count_entries.all()) > 0
        or any(stay.end is None or stay.end > since for stay in row.stays.all())
    }


def _room(row: Housing) -> Room:
    return Room(
        key=str(row.pk),
        name=row.name,
        area_m2=row.area_m2,
        feeder_cm=row.feeder_cm,
        drinker_cm=row.drinker_cm,
        heated=row.heated,
        indoor=row.indoor,
        one_batch=row.one_batch,
        max_age_gap_days=row.max_age_gap_days,
        rest_days=row.rest_days,
        in_service_from=row.in_service_from,
        in_service_to=row.in_service_to,
        species=frozenset(row.species),
    )


def _group(batch: Batch, today: date) -> Group:
    birds = head_rows.alive_on(batch, max(today, batch.arrived_on))
    return Group(
        key=str(batch.pk),
        name=batch.name,
        species=batch.species,
        hatch_day=batch.hatch_day,
        needs=needs.needs(programmes.of(batch), _AGES),
        describe=naming.describe(batch, birds),
    )


def _leaving(batch: Batch, today: date) -> date | None:
    return batch.leaves_on if batch.leaves_on is not None and batch.leaves_on > today else None


def _until_leaving(span: heads.Stay, batch: Batch, today: date) -> heads.Stay:
    gone = _leaving(batch, today)
    if gone is None or gone <= span.start or (span.end is not None and span.end <= gone):
        return span
    return replace(span, end=gone)
