"""Batches begin, change and end."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch, Housing, ProgrammeVersion
from farm.models.batch import BatchSource, Sex
from farm.models.count_entry import CountKind
from farm.models.member import Role
from farm.queries import lookup
from farm.services import batch_rules, counts, day_rules, programmes, stale, stays
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
    _check(new, arrived_on, by.today)
    version = programmes.version_for(log, new.programme)
    batch = Batch(
        farm=log.farm,
        name=new.name.strip(),
        species=version.programme.species,
        type=version.programme.type,
        breed=new.breed.strip(),
        sex=new.sex,
        source=new.source,
        hatch_day=new.hatch_day,
        arrived_on=arrived_on,
        leaves_on=new.leaves_on,
        programme_version=version,
        notes=new.notes,
    )
    log.add(batch)
    kind = CountKind.HATCHED if new.source == BatchSource.OWN_HATCH else CountKind.ARRIVED
    counts.add_in(log, batch, kind=kind, birds=new.birds, day=arrived_on)
    housing = lookup.get_or_none(Housing, farm_id=by.farm_id, pk=new.housing_id)
    if housing is not None:
        with _named_as_typed(new):
            stays.add_in(
                log,
                batch=batch,
                housing=housing,
                birds=new.birds,
                start=arrived_on,
                end=new.housing_until or new.leaves_on,
                actual=arrived_on <= by.today,
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
        if not fields.keys() <= _CHANGEABLE:
            raise TypeError(f"not a batch's own words or days: {sorted(fields.keys() - _CHANGEABLE)}")
        _check_change(batch, fields, by.today)
        was_arrival = batch.arrived_on
        if not log.change(batch, **fields):
            return batch
        _move_arrival(log, batch, was_arrival)
        batch_rules.check_ledger(batch, field="arrived_on")
        for stay in batch.stays.select_related("housing", "batch"):
            batch_rules.check_stay(stay, by.today, clipped_before=None)
        log.says(batch, _("Batch %(batch)s changed") % {"batch": batch})
    return batch


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


def _check(new: NewBatch, arrived_on: date, today: date) -> None:
    days = {"hatch_day": new.hatch_day, "arrived_on": arrived_on, "leaves_on": new.leaves_on}
    problems: dict[str, list[object]] = {name: day_rules.typo(day, today) for name, day in days.items()}
    problems["name"] = [] if new.name.strip() else [_("Give the batch a name.")]
    if not 1 <= new.birds <= counts.MOST_BIRDS:
        problems["birds"] = [_("Enter a number from 1 to %(most)d.") % {"most": counts.MOST_BIRDS}]
    _check_order(problems, new.source, new.hatch_day, arrived_on, new.leaves_on)
    _raise_any(problems)


def _check_change(batch: Batch, fields: dict[str, Any], today: date) -> None:
    """Judge what was typed anew; days that stand in the records already may be long ago."""
    problems: dict[str, list[object]] = {
        name: day_rules.typo(fields[name], today)
        for name in ("hatch_day", "arrived_on", "leaves_on")
        if name in fields and fields[name] != getattr(batch, name)
    }
    if "name" in fields:
        fields["name"] = fields["name"].strip()
        problems["name"] = [] if fields["name"] else [_("Give the batch a name.")]
    now = {name: fields.get(name, getattr(batch, name)) for name in ("hatch_day", "arrived_on", "leaves_on")}
    _check_order(problems, fields.get("source", batch.source), **now)
    _raise_any(problems)


def _check_order(
    problems: dict[str, list[object]],
    source: str,
    hatch_day: date,
    arrived_on: date,
    leaves_on: date | None,
) -> None:
    """Add to `problems` what is wrong between the days of one batch; a day refused already is left at that."""
    if not problems.get("arrived_on") and arrived_on < hatch_day:
        problems["arrived_on"] = [_("Birds cannot arrive before they hatch.")]
    elif not problems.get("arrived_on") and source == BatchSource.OWN_HATCH and arrived_on != hatch_day:
        problems["arrived_on"] = [_("An own hatch arrives on its hatch day.")]
    if not problems.get("leaves_on") and leaves_on is not None and leaves_on <= arrived_on:
        problems["leaves_on"] = [_("The last day must be after the first.")]


@contextmanager
def _named_as_typed(new: NewBatch) -> Iterator[None]:
    """Say what a first stay is refused for at the fields of a new batch."""
    try:
        yield
    except BadInput as refused:
        until = "housing_until" if new.housing_until else "leaves_on"
        fields = {"start": "arrived_on", "end": until}
        raise BadInput({fields.get(name, name): texts for name, texts in refused.fields.items()}) from refused


def _raise_any(problems: dict[str, list[object]]) -> None:
    found = {name: texts for name, texts in problems.items() if texts}
    if found:
        raise BadInput(found)
