"""Eggs are set, their sets changed and cancelled; each open set has the batch it is expected to become."""

from __future__ import annotations

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from typing import Any
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput
from farm.models import Batch, EggSet, Farm, Housing, Machine
from farm.models.batch import BatchSource
from farm.models.egg_set import EggSetState
from farm.models.member import Role
from farm.queries import hatching, lookup
from farm.queries.hatch_rates import FarmRates
from farm.services import day_rules, egg_set_rules, expected, machine_rules, programmes, stale
from farm.services.actor import Actor, local_day
from farm.services.expected import Hope
from farm.services.writing import Log, write

_WORDS = frozenset({"name", "breed", "storage", "origin", "notes"})
_CHANGEABLE = _WORDS | {
    "eggs",
    "stored_days",
    "storage_reason",
    "setter_id",
    "hatcher_id",
    "set_on",
    "set_at",
}
#: Where a batch or its first stay is refused, and where that is mended on an egg set.
_FIELDS = {
    "hatch_day": "set_on",
    "arrived_on": "set_on",
    "birds": "eggs",
    "start": "housing_id",
    "end": "housing_id",
    "override_reason": "housing_id",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class NewEggSet:
    """What a keeper types to plan or make an egg set.

    programme: as in `NewBatch`. name "": the next free E1, E2 … set_at: the instant; None is noon of `set_on`.
    hatcher_id None: they hatch where they are set. storage_reason: why eggs stored too long are set all the same.
    housing_id: where the chicks go, None for not yet known.
    """

    programme: str
    eggs: int
    set_on: date
    setter_id: int | None
    hatcher_id: int | None = None
    name: str = ""
    set_at: datetime | None = None
    stored_days: int = 0
    storage: str = ""
    storage_reason: str = ""
    origin: str = ""
    breed: str = ""
    housing_id: int | None = None
    notes: str = ""


def set_eggs(by: Actor, *, new: NewEggSet) -> EggSet:
    """Plan or record an egg set. Raises BadInput at the fields of `NewEggSet`."""
    with write(by, "set eggs", role=Role.KEEPER) as log:
        egg_set = set_in(log, new)
        log.says(egg_set, describe(egg_set))
    return egg_set


def set_in(log: Log, new: NewEggSet) -> EggSet:
    """Plan or record an egg set inside an open write, with the batch expected of it."""
    before = hatching.conflicts(log.farm)
    setter = _machine(log, "setter_id", new.setter_id)
    hatcher = setter if new.hatcher_id is None else _machine(log, "hatcher_id", new.hatcher_id)
    set_at = new.set_at or noon(log.farm, new.set_on)
    version = programmes.version_for(log, new.programme)
    egg_set = EggSet(
        farm=log.farm,
        name=new.name.strip() or free_name(log.farm),
        species=version.programme.species,
        type=version.programme.type,
        breed=new.breed.strip(),
        programme_version=version,
        eggs=new.eggs,
        stored_days=new.stored_days,
        storage=_storage(new.storage, new.storage_reason),
        origin=new.origin.strip(),
        setter=setter,
        hatcher=hatcher,
        set_at=set_at,
        set_on=local_day(log.farm, set_at),
        notes=new.notes.strip(),
    )
    egg_set_rules.check(egg_set, log.by.today, typed=True, reason=new.storage_reason.strip())
    egg_set.batch = _hope(log, egg_set, lookup.get_or_none(Housing, farm_id=log.farm.pk, pk=new.housing_id))
    log.add(egg_set)
    machine_rules.check_set(before, egg_set)
    return egg_set


def change(by: Actor, *, egg_set_id: int, expected_version: int | None, **fields: Any) -> EggSet:
    """Change an egg set; what is expected of it follows. Raises Stale, BadInput.

    fields: any of name, breed, storage, origin, notes; of one that is open also eggs, stored_days, storage_reason,
    setter_id, hatcher_id, set_on, set_at.
    """
    with write(by, "change egg set", role=Role.KEEPER) as log:
        egg_set = lookup.get(EggSet, farm_id=by.farm_id, pk=egg_set_id)
        stale.check(egg_set, expected_version)
        if change_in(log, egg_set, **fields):
            log.says(egg_set, _("Egg set %(set)s changed") % {"set": egg_set})
    return egg_set


def change_in(log: Log, egg_set: EggSet, *, later_stays: bool = True, **fields: Any) -> bool:
    """Change an egg set inside an open write; return whether anything differs.

    later_stays: those after the first move along with the hatch; not when a plan says where they are to be.
    """
    if not fields.keys() <= _CHANGEABLE:
        raise TypeError(f"not an egg set's own: {sorted(fields.keys() - _CHANGEABLE)}")
    reason = fields.pop("storage_reason", "").strip()
    wanted = _read(log, egg_set, fields, reason)
    if any(getattr(egg_set, name) != value for name, value in wanted.items() if name not in _WORDS):
        machine_rules.is_open(egg_set)
    then = copy.copy(egg_set)
    for name, value in wanted.items():
        setattr(then, name, value)
    stored = reason or then.stored_days <= egg_set.stored_days  # what stands already was meant
    egg_set_rules.check(then, log.by.today, typed=then.set_on != egg_set.set_on, reason=str(stored or ""))
    before = hatching.conflicts(log.farm)
    if not log.change(egg_set, **wanted):
        return False
    machine_rules.check_set(before, egg_set)
    follow(log, egg_set, later_stays=later_stays)
    return True


def cancel(by: Actor, *, egg_set_id: int, expected_version: int | None = None) -> None:
    """Cancel an open egg set; the batch expected of it goes with its stays. Raises Stale, BadInput."""
    with write(by, "cancel egg set", role=Role.KEEPER) as log:
        egg_set = lookup.get(EggSet, farm_id=by.farm_id, pk=egg_set_id)
        stale.check(egg_set, expected_version)
        cancel_in(log, egg_set)
        log.says(egg_set, _("Egg set %(set)s cancelled") % {"set": egg_set})


def cancel_in(log: Log, egg_set: EggSet) -> None:
    """Cancel an egg set inside an open write."""
    machine_rules.is_open(egg_set)
    batch = egg_set.batch
    log.change(egg_set, state=EggSetState.CANCELLED, batch=None)
    if batch is not None:
        expected.drop(log, batch)


def follow(log: Log, egg_set: EggSet, *, later_stays: bool = True) -> None:
    """Bring what is expected of an open egg set in line with it: how many, of which breed, and when."""
    if egg_set.state != EggSetState.OPEN or egg_set.batch is None:
        return
    batch, day = egg_set.batch, hatching.dates_of(egg_set).hatch_day
    birds = hatching.birds_expected(egg_set, FarmRates(log.farm))
    log.change(batch, breed=egg_set.breed)
    with expected.named_as(_FIELDS):
        expected.revise(log, batch, hatch_day=day, arrived_on=day, birds=birds, later_stays=later_stays)


def free_name(farm: Farm) -> str:
    """Return the next free name for an egg set: E1, E2 …"""
    taken = set(EggSet.objects.filter(farm=farm).values_list("name", flat=True))
    number = len(taken) + 1
    while f"E{number}" in taken:
        number += 1
    return f"E{number}"


def noon(farm: Farm, day: date) -> datetime:
    """Return the instant of noon on a day of the farm, in UTC: when nobody said when."""
    return datetime.combine(day, time(12), ZoneInfo(farm.time_zone)).astimezone(UTC)


def describe(egg_set: EggSet) -> str:
    """Return the egg set in words, for the history."""
    text = ngettext(
        "Egg set %(set)s: %(eggs)d egg in %(machine)s on %(day)s",
        "Egg set %(set)s: %(eggs)d eggs in %(machine)s on %(day)s",
        egg_set.eggs,
    )
    return text % {
        "set": egg_set,
        "eggs": egg_set.eggs,
        "machine": egg_set.setter,
        "day": day_rules.shown(egg_set.set_on),
    }


def _hope(log: Log, egg_set: EggSet, housing: Housing | None) -> Batch:
    day = hatching.dates_of(egg_set).hatch_day
    with expected.named_as(_FIELDS):
        return expected.begin(
            log,
            Hope(
                name=egg_set.name,
                version=egg_set.programme_version,
                source=BatchSource.OWN_HATCH,
                hatch_day=day,
                arrived_on=day,
                birds=hatching.birds_expected(egg_set, FarmRates(log.farm)),
                breed=egg_set.breed,
                housing=housing,
            ),
        )


def _machine(log: Log, field: str, pk: int | None) -> Machine:
    if pk is None:
        raise BadInput.at(field, _("Choose a machine."))
    return lookup.get(Machine, farm_id=log.farm.pk, pk=pk)


def _read(log: Log, egg_set: EggSet, fields: Mapping[str, Any], reason: str) -> dict[str, Any]:
    """Return typed fields as an egg set's own."""
    wanted = {name: value.strip() if name in _WORDS else value for name, value in fields.items()}
    for link in ("setter", "hatcher"):
        if f"{link}_id" in wanted:
            wanted[link] = _machine(log, f"{link}_id", wanted.pop(f"{link}_id"))
    if "set_on" in wanted and "set_at" not in wanted and wanted["set_on"] != egg_set.set_on:
        wanted["set_at"] = noon(log.farm, wanted["set_on"])
    if "set_at" in wanted:
        wanted["set_on"] = local_day(log.farm, wanted["set_at"])
    if reason:
        wanted["storage"] = _storage(wanted.get("storage", egg_set.storage), reason)
    return wanted


def _storage(storage: str, reason: str) -> str:
    """Return how eggs were stored with the reason why they are set all the same."""
    parts = [text.strip() for text in (storage, reason) if text.strip()]
    return "; ".join(dict.fromkeys(parts))[:200]
