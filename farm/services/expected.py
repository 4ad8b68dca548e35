"""Birds not yet here: the batch of an egg set or intake, from the day it is planned until it is confirmed or dropped.

It is a batch like any other, with one count entry for the birds hoped for, so that plans and boards see it by the one
path there is. What is recorded of the hatch or arrival takes the place of what was hoped for.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date

from django.utils.translation import gettext as _

from farm import dispatch
from farm.errors import BadInput
from farm.models import Batch, CountEntry, Housing, ProgrammeVersion
from farm.models.batch import BatchSource, Sex
from farm.models.count_entry import CountKind
from farm.queries import tally
from farm.services import batch_fields, counts, day_rules, expected_stays, stays
from farm.services.writing import Log


@dataclass(frozen=True, slots=True, kw_only=True)
class Hope:
    """The birds to expect. name: made different from other batches' names; birds: how many, at least 1."""

    name: str
    version: ProgrammeVersion
    source: str
    hatch_day: date
    arrived_on: date
    birds: int
    breed: str = ""
    sex: str = Sex.STRAIGHT_RUN
    housing: Housing | None = None


def begin(log: Log, hope: Hope) -> Batch:
    """Expect a batch inside an open write, in `housing` from its first day. Raises BadInput at a batch's fields."""
    batch = Batch(
        farm=log.farm,
        name=_free_name(log, hope.name),
        species=hope.version.programme.species,
        type=hope.version.programme.type,
        breed=hope.breed,
        sex=hope.sex,
        source=hope.source,
        hatch_day=hope.hatch_day,
        arrived_on=hope.arrived_on,
        programme_version=hope.version,
        expected=True,
    )
    batch_fields.check_new(batch, hope.birds, log.by.today)
    log.add(batch)
    counts.add_in(log, batch, kind=_kind(batch), birds=hope.birds, day=batch.arrived_on)
    if hope.housing is not None:
        stays.add_in(
            log, batch=batch, housing=hope.housing, birds=hope.birds, start=batch.arrived_on, end=None
        )
    _tell(log)
    return batch


def revise(
    log: Log, batch: Batch, *, hatch_day: date, arrived_on: date, birds: int, later_stays: bool = True
) -> None:
    """Expect other birds or other days. Stays that are not fixed move along. Raises BadInput at arrived_on.

    birds: 0 when no egg is left to hatch. later_stays: not only those that begin with the arrival move. One step for
    both: a line written here is never taken back by the same write, so that undoing it finds each line standing.
    """
    was, hoped_for = batch.arrived_on, hoped(batch)
    moved = (batch.hatch_day, was) != (hatch_day, arrived_on)
    if not moved and hoped_for == birds:
        return
    if batch.leaves_on is not None and batch.leaves_on <= arrived_on:
        text = _("The birds are to leave on %(day)s. Change that first, on the page of %(batch)s.")
        raise BadInput.at("arrived_on", text % {"day": day_rules.shown(batch.leaves_on), "batch": batch})
    log.change(batch, hatch_day=hatch_day, arrived_on=arrived_on)
    if (was, hoped_for) != (arrived_on, birds):
        _replace_lines(log, batch, birds)
    if birds:
        expected_stays.resize(log, batch, hoped_for, birds)
    if moved:
        expected_stays.follow(log, batch, was, later=later_stays)
    _tell(log)


def confirm(
    log: Log,
    batch: Batch,
    *,
    hatch_day: date,
    arrived_on: date,
    birds: int,
    culled: int = 0,
    housing: Housing | None = None,
) -> None:
    """Record that `birds` (at least 1) hatched or came, `culled` of them put down that day.

    housing: where they were put, None as planned. What is a fact is never refused because of a plan: planned stays that
    no longer can be give way. Raises BadInput only at housing_id, for a housing they must not be in.
    """
    was, hoped_for = batch.arrived_on, hoped(batch)
    leaves_on = batch.leaves_on if batch.leaves_on is not None and batch.leaves_on > arrived_on else None
    log.change(batch, expected=False, hatch_day=hatch_day, arrived_on=arrived_on, leaves_on=leaves_on)
    _replace_lines(log, batch, birds)
    if culled:
        counts.add_in(log, batch, kind=CountKind.CULLED, birds=culled, day=arrived_on)
    kept = birds - culled
    if kept:
        expected_stays.resize(log, batch, hoped_for, kept)
        expected_stays.settle(log, batch, was)
        expected_stays.put(log, batch, housing, kept)
        expected_stays.mark_begun(log, batch)
    else:
        for stay in batch.stays.all():
            log.remove(stay)
    _tell(log)


def drop(log: Log, batch: Batch) -> None:
    """Expect the birds no more: their batch goes with all that hangs on it. Nothing may point to it any more."""
    for hold in batch.holds.all():
        log.remove(hold)
    for stay in batch.stays.all():
        log.remove(stay)
    for seen in batch.observations.select_related("housing"):
        if seen.housing is None:
            log.remove(seen)
        else:
            log.change(seen, batch=None)
    # Newest first: a line that takes back another goes before it.
    for entry in batch.count_entries.order_by("-pk"):
        log.remove(entry)
    log.remove(batch)
    _tell(log)


@contextmanager
def named_as(fields: Mapping[str, str]) -> Iterator[None]:
    """Say what a batch or its stay is refused for at the fields of its egg set or intake."""
    try:
        yield
    except BadInput as refused:
        found: dict[str, list[object]] = {}
        for name, texts in refused.fields.items():
            found.setdefault(fields.get(name, name), []).extend(texts)
        raise BadInput(found) from refused


def hoped(batch: Batch) -> int:
    """Return the birds that an expected batch stands for."""
    return sum(entry.birds for entry in batch.count_entries.all())


def _replace_lines(log: Log, batch: Batch, birds: int) -> None:
    """Bring `birds` on the batch's first day in place of the lines that stand."""
    old = _last_lines(batch)
    if birds:  # first, because the database forbids a sum below zero at every moment
        counts.add_in(log, batch, kind=_kind(batch), birds=birds, day=batch.arrived_on)
    for entry in old:
        counts.reverse_in(log, entry)


def _last_lines(batch: Batch) -> list[CountEntry]:
    """Return, of each line that stands, the line to take back: itself, or what brought it back after an undo."""
    entries = list(batch.count_entries.all())
    against = {entry.reverses_id: entry for entry in entries}
    found = []
    for entry in tally.standing(entries):
        while entry.pk in against:
            entry = against[entry.pk]
        found.append(entry)
    return found


def _kind(batch: Batch) -> str:
    return CountKind.HATCHED if batch.source == BatchSource.OWN_HATCH else CountKind.ARRIVED


def _free_name(log: Log, name: str) -> str:
    """Return the name, with a number when another batch has it."""
    taken = set(Batch.objects.filter(farm=log.farm).values_list("name", flat=True))
    most = Batch._meta.get_field("name").max_length or 0
    free, number = name[:most], 2
    while free in taken:
        tail = f" {number}"
        free, number = name[: most - len(tail)] + tail, number + 1
    return free


def _tell(log: Log) -> None:
    dispatch.after_commit("propose_after", farm_id=log.farm.pk, why="arrival")
