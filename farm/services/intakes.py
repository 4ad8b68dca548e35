"""Chicks from elsewhere are expected, changed, cancelled and received; each has its batch from the start."""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm import wording
from farm.models import Batch, Housing, Intake, Supplier
from farm.models.batch import BatchSource, Sex
from farm.models.intake import IntakeState, Way
from farm.models.member import Role
from farm.queries import hatch_rates, lookup, programmes
from farm.services import day_rules, expected, intake_rules, stale
from farm.services import programmes as taking
from farm.services.actor import Actor, local_day
from farm.services.expected import Hope
from farm.services.writing import Log, write

#: Days from the hatch to an arrival by post when nobody says: project default (judgement).
POSTED_DAYS = 1
_WORDS = frozenset({"from_whom", "breed", "notes"})
_CHANGEABLE = _WORDS | {"supplier_id", "ordered", "extras", "sex", "way", "due_on", "hatched_at"}
#: What may still be put right of one that is over.
_AFTERWARDS = frozenset({"from_whom", "notes", "supplier"})
#: Where a batch or its first stay is refused, and where that is mended on an intake.
_FIELDS = {
    "hatch_day": "due_on",
    "arrived_on": "due_on",
    "birds": "ordered",
    "start": "housing_id",
    "end": "housing_id",
    "override_reason": "housing_id",
}
_ARRIVAL_FIELDS = {"arrived_on": "arrived_at", "hatch_day": "hatched_at", "birds": "alive"}


@dataclass(frozen=True, slots=True, kw_only=True)
class NewIntake:
    """What a keeper types to expect chicks.

    programme: as in `NewBatch`. name "": the batch is named by where they come from and when. from_whom "": the
    supplier's name. hatched_at None: about as long before `due_on` as the supplier says. housing_id: where they go.
    """

    programme: str
    ordered: int
    due_on: date
    supplier_id: int | None = None
    from_whom: str = ""
    extras: int = 0
    name: str = ""
    breed: str = ""
    sex: str = Sex.STRAIGHT_RUN
    way: str = Way.POST
    hatched_at: datetime | None = None
    housing_id: int | None = None
    notes: str = ""


def expect(by: Actor, *, new: NewIntake) -> Intake:
    """Expect chicks. Raises BadInput at the fields of `NewIntake`."""
    with write(by, "expect intake", role=Role.KEEPER) as log:
        intake = expect_in(log, new)
        log.says(intake, describe(intake))
    return intake


def expect_in(log: Log, new: NewIntake) -> Intake:
    """Expect chicks inside an open write, with the batch they will be."""
    supplier = lookup.get_or_none(Supplier, farm_id=log.farm.pk, pk=new.supplier_id)
    version = taking.version_for(log, new.programme)
    intake = Intake(
        farm=log.farm,
        supplier=supplier,
        from_whom=new.from_whom.strip() or (supplier.name if supplier else ""),
        species=version.programme.species,
        type=version.programme.type,
        breed=new.breed.strip(),
        sex=new.sex,
        programme_version=version,
        ordered=new.ordered,
        extras=new.extras,
        way=new.way,
        due_on=new.due_on,
        hatched_at=new.hatched_at,
        notes=new.notes.strip(),
    )
    intake_rules.check(intake, log.by.today, typed=True)
    name = new.name.strip() or _("%(from)s, %(day)s") % {
        "from": intake.from_whom[:40],
        "day": wording.day(intake.due_on),
    }
    with expected.named_as(_FIELDS):
        intake.batch = expected.begin(
            log,
            Hope(
                name=name,
                version=version,
                source=BatchSource.INTAKE,
                hatch_day=_hatch_day(intake),
                arrived_on=intake.due_on,
                birds=birds_expected(intake),
                breed=intake.breed,
                sex=intake.sex,
                housing=lookup.get_or_none(Housing, farm_id=log.farm.pk, pk=new.housing_id),
            ),
        )
    log.add(intake)
    return intake


def change(by: Actor, *, intake_id: int, expected_version: int | None, **fields: Any) -> Intake:
    """Change an intake; its batch and the stays that are not fixed follow. Raises Stale, BadInput.

    fields: any of from_whom, supplier_id, notes; of one still expected also breed, sex, way, ordered, extras, due_on,
    hatched_at.
    """
    with write(by, "change intake", role=Role.KEEPER) as log:
        intake = lookup.get(Intake, farm_id=by.farm_id, pk=intake_id)
        stale.check(intake, expected_version)
        if change_in(log, intake, **fields):
            log.says(intake, _("Changed: %(intake)s") % {"intake": describe(intake)})
    return intake


def change_in(log: Log, intake: Intake, *, later_stays: bool = True, **fields: Any) -> bool:
    """Change an intake inside an open write; return whether anything differs. later_stays: as in `egg_sets`."""
    if not fields.keys() <= _CHANGEABLE:
        raise TypeError(f"not an intake's own: {sorted(fields.keys() - _CHANGEABLE)}")
    wanted = {name: value.strip() if name in _WORDS else value for name, value in fields.items()}
    if "supplier_id" in wanted:
        wanted["supplier"] = lookup.get_or_none(Supplier, farm_id=log.farm.pk, pk=wanted.pop("supplier_id"))
    if any(getattr(intake, name) != value for name, value in wanted.items() if name not in _AFTERWARDS):
        intake_rules.is_expected(intake)
    then = copy.copy(intake)
    for name, value in wanted.items():
        setattr(then, name, value)
    intake_rules.check(then, log.by.today, typed=then.due_on != intake.due_on)
    if not log.change(intake, **wanted):
        return False
    if intake.state == IntakeState.EXPECTED and intake.batch is not None:
        log.change(intake.batch, breed=intake.breed, sex=intake.sex)
        with expected.named_as(_FIELDS):
            expected.revise(
                log,
                intake.batch,
                hatch_day=_hatch_day(intake),
                arrived_on=intake.due_on,
                birds=birds_expected(intake),
                later_stays=later_stays,
            )
    return True


def cancel(by: Actor, *, intake_id: int, expected_version: int | None = None) -> None:
    """Cancel an intake; the batch expected of it goes with its stays. Raises Stale, BadInput."""
    with write(by, "cancel intake", role=Role.KEEPER) as log:
        intake = lookup.get(Intake, farm_id=by.farm_id, pk=intake_id)
        stale.check(intake, expected_version)
        cancel_in(log, intake)
        log.says(intake, _("Cancelled: %(intake)s") % {"intake": describe(intake)})


def cancel_in(log: Log, intake: Intake) -> None:
    """Cancel an intake inside an open write."""
    intake_rules.is_expected(intake)
    batch = intake.batch
    log.change(intake, state=IntakeState.CANCELLED, batch=None)
    if batch is not None:
        expected.drop(log, batch)


def arrive(
    by: Actor,
    *,
    intake_id: int,
    arrived_at: datetime,
    alive: int,
    dead: int = 0,
    weak: int = 0,
    hatched_at: datetime | None = None,
    housing_id: int | None = None,
    expected_version: int | None,
) -> Batch | None:
    """Record an arrival. Returns its batch, None when none came alive: dead ones are never in a batch's ledger.

    hatched_at: as the box says, None keeps what is known. housing_id: where they are, None for where they are planned.
    Raises BadInput at its fields, Stale; for an arrival already recorded, BadInput for the whole form.
    """
    with write(by, "record arrival", role=Role.HELPER) as log:
        intake = lookup.get(Intake, farm_id=by.farm_id, pk=intake_id)
        intake_rules.is_expected(intake)
        stale.check(intake, expected_version)
        housing = lookup.get_or_none(Housing, farm_id=by.farm_id, pk=housing_id)
        intake_rules.check_arrival(
            intake, by.now, at=arrived_at, hatched_at=hatched_at, alive=alive, dead=dead, weak=weak
        )
        batch = intake.batch
        assert batch is not None, "an expected intake has its batch"
        log.change(
            intake,
            state=IntakeState.ARRIVED,
            arrived_at=arrived_at,
            hatched_at=hatched_at or intake.hatched_at,
            alive=alive,
            dead=dead,
            weak=weak,
            batch=batch if alive else None,
        )
        _says_arrived(log, intake, alive, dead)
        if not alive:
            expected.drop(log, batch)
            return None
        day = local_day(log.farm, arrived_at)
        with expected.named_as(_ARRIVAL_FIELDS):
            expected.confirm(
                log,
                batch,
                hatch_day=_hatched(intake, batch, day),
                arrived_on=day,
                birds=alive,
                housing=housing,
            )
    return batch


def birds_expected(intake: Intake) -> int:
    """Return the chicks to expect alive: the mean, rounded up."""
    programme = programmes.of_version(intake.programme_version)
    chance = hatch_rates.arrival(intake.farm, programme).chance
    return math.ceil(round((intake.ordered + intake.extras) * chance, 6))


def describe(intake: Intake) -> str:
    """Return the intake in words, for the history."""
    number = intake.ordered + intake.extras
    text = ngettext(
        "%(birds)d chick from %(from)s on %(day)s", "%(birds)d chicks from %(from)s on %(day)s", number
    )
    return text % {"birds": number, "from": intake.from_whom, "day": day_rules.shown(intake.due_on)}


def _hatch_day(intake: Intake) -> date:
    """Return the hatch day to expect: as told, else so long before they come as their way takes."""
    if intake.hatched_at is not None:
        return local_day(intake.farm, intake.hatched_at)
    if intake.supplier is not None:
        return intake.due_on - timedelta(days=intake.supplier.hours_on_the_way // 24)
    return intake.due_on - timedelta(days=POSTED_DAYS if intake.way == Way.POST else 0)


def _hatched(intake: Intake, batch: Batch, arrived_on: date) -> date:
    """Return the hatch day of chicks that came on `arrived_on`; told of or not, none arrive before they hatch."""
    if intake.hatched_at is not None:
        return min(local_day(intake.farm, intake.hatched_at), arrived_on)
    return arrived_on - (batch.arrived_on - batch.hatch_day)


def _says_arrived(log: Log, intake: Intake, alive: int, dead: int) -> None:
    text = _("From %(from)s: %(alive)d arrived alive, %(dead)d dead")
    log.says(intake, text % {"from": intake.from_whom, "alive": alive, "dead": dead})
