"""Batches begin, change and end."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from farm import dispatch
from farm.errors import BadInput
from farm.models import Batch, Housing, ProgrammeVersion
from farm.models.batch import BatchSource, Sex
from farm.models.count_entry import CountKind
from farm.models.member import Role
from farm.queries import lookup
from farm.services import batch_fields, batch_rules, counts, day_rules, programmes, stale, stays
from farm.services.actor import Actor
from farm.services.writing import Log, write

_CHANGEABLE = frozenset({"name", "breed", "sex", "source", "hatch_day", "arrived_on", "leaves_on", "notes"})


@dataclass(frozen=True, slots=True, kw_only=True)
class NewBatch:
    """What a keeper types to start a batch.

    programme: key of a built-in programme, or the number of one of the farm's programmes as text. arrived_on None: the
    hatch day. housing_id None: no place yet; the board then shows the birds as without housing.
    """

    name: str
    programme: str
    hatch_day: date
    birds: int
    arrived_on: date | None = None
    leaves_on: date | None = None
    breed: str = ""
    sex: str = Sex.STRAIGHT_RUN
    source: str = BatchSource.INTAKE
    housing_id: int | None = None
    housing_until: date | None = None
    override_reason: str = ""
    notes: str = ""


def start(by: Actor, *, new: NewBatch) -> Batch:
    """Start a batch: its record, its first count entry and, with a housing, its first stay. Raises BadInput."""
    with write(by, "start batch", role=Role.KEEPER) as log:
        batch = start_in(log, new)
        log.says(
            batch,
            _("Batch %(batch)s started: %(birds)d birds, hatched %(day)s")
            % {"batch": batch, "birds": new.birds, "day": day_rules.shown(batch.hatch_day)},
        )
    return batch


def start_in(log: Log, new: NewBatch) -> Batch:
    """Start a batch inside an open write."""
    by = log.by
    arrived_on = new.arrived_on or new.hatch_day
    batch = Batch(
        farm=log.farm,
        name=new.name.strip(),
        breed=new.breed.strip(),
        sex=new.sex,
        source=new.source,
        hatch_day=new.hatch_day,
        arrived_on=arrived_on,
        leaves_on=new.leaves_on,
        notes=new.notes,
    )
    batch_fields.check_new(batch, new.birds, by.today)
    batch.programme_version = version = programmes.version_for(log, new.programme)
    batch.species, batch.type = version.programme.species, version.programme.type
    log.add(batch)
    kind = CountKind.HATCHED if new.source == BatchSource.OWN_HATCH else CountKind.ARRIVED
    counts.add_in(log, batch, kind=kind, birds=new.birds, day=arrived_on)
    housing = lookup.get_or_none(Housing, farm_id=by.farm_id, pk=new.housing_id)
    if housing is not None:
        until = "housing_until" if new.housing_until else "leaves_on"
        with _named_as({"start": "arrived_on", "end": until}):
            stays.add_in(
                log,
                batch=batch,
                housing=housing,
                birds=new.birds,
                start=arrived_on,
                end=new.housing_until or new.leaves_on,
                override_reason=new.override_reason,
            )
    return batch


def change(by: Actor, *, batch_id: int, expected_version: int | None, **fields: Any) -> Batch:
    """Change a batch's words and dates. Moving the hatch day moves every step not yet done.

    fields: any of name, breed, sex, source, hatch_day, arrived_on, leaves_on, notes. Raises Stale, BadInput.
    """
    with write(by, "change batch", role=Role.KEEPER) as log:
        batch = lookup.get(Batch, farm_id=by.farm_id, pk=batch_id)
        stale.check(batch, expected_version)
        change_in(log, batch, **fields)
    return batch


def change_in(log: Log, batch: Batch, **fields: Any) -> bool:
    """Change a batch inside an open write, judged by every rule; return whether anything differs."""
    if not fields.keys() <= _CHANGEABLE:
        raise TypeError(f"not a batch's own words or days: {sorted(fields.keys() - _CHANGEABLE)}")
    fields |= {name: fields[name].strip() for name in ("name", "breed") if name in fields}
    batch_fields.check_change(batch, fields, log.by.today)
    batch_fields.check_expected(batch, fields)
    was_arrival = batch.arrived_on
    if not log.change(batch, **fields):
        return False
    _move_arrival(log, batch, was_arrival)
    batch_rules.check_ledger(batch, field="arrived_on")
    with _named_as({"start": "arrived_on", "override_reason": "hatch_day"}):
        for stay in batch.stays.select_related("housing", "batch"):
            batch_rules.check_stay(stay, log.by.today, clipped_before=None)
    log.says(batch, _("Batch %(batch)s changed") % {"batch": batch})
    if fields.keys() & {"hatch_day", "arrived_on", "leaves_on"}:
        dispatch.after_commit("propose_after", farm_id=log.farm.pk, why="arrival")
    return True


def use_programme(by: Actor, *, batch_id: int, version_id: int, expected_version: int | None) -> Batch:
    """Move a batch to another version of a programme of its species, on purpose. Raises Stale, BadInput."""
    with write(by, "change programme", role=Role.KEEPER) as log:
        batch = lookup.get(Batch, farm_id=by.farm_id, pk=batch_id)
        stale.check(batch, expected_version)
        version = lookup.get(ProgrammeVersion, farm_id=by.farm_id, pk=version_id)
        if version.programme.species != batch.species:
            raise BadInput.at("version", _("This programme is for another species."))
        log.change(batch, programme_version=version, type=version.programme.type)
        log.says(batch, _("Batch %(batch)s now follows %(version)s") % {"batch": batch, "version": version})
    return batch


def _move_arrival(log: Log, batch: Batch, was: date) -> None:
    """Carry the first count entry and the stays that began on arrival along when the arrival day is corrected."""
    if batch.arrived_on == was:
        return
    came = batch.count_entries.filter(kind__in=[CountKind.ARRIVED, CountKind.HATCHED], day=was)
    for first in came.filter(reversed_by__isnull=True):
        # Added before the old line goes: the sum never passes below zero, which the database forbids at every moment.
        counts.add_in(log, batch, kind=first.kind, birds=first.birds, day=batch.arrived_on)
        counts.reverse_in(log, first)
    for stay in batch.stays.filter(start=was):
        if stay.end is not None and stay.end <= batch.arrived_on:
            raise BadInput.at(
                "arrived_on", _("A stay of this batch ends before that day. Change the stay first.")
            )
        log.change(stay, start=batch.arrived_on, actual=batch.arrived_on <= log.by.today)


@contextmanager
def _named_as(fields: Mapping[str, str]) -> Iterator[None]:
    """Say what a stay is refused for at the fields of its batch."""
    try:
        yield
    except BadInput as refused:
        raise BadInput({fields.get(name, name): texts for name, texts in refused.fields.items()}) from refused
