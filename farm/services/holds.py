"""Birds of a batch kept out of orders, to be kept back."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput
from farm.models import Batch, Hold
from farm.models.batch import Sex
from farm.models.member import Role
from farm.models.order import WantedSex
from farm.queries import heads, lookup
from farm.services import stale
from farm.services.actor import Actor
from farm.services.writing import Log, write

_CHANGEABLE = frozenset({"birds", "sex", "reason"})
_NONE_OF = {Sex.FEMALE: WantedSex.MALE, Sex.MALE: WantedSex.FEMALE}


def add(by: Actor, *, batch_id: int, birds: int, sex: str = WantedSex.ANY, reason: str = "") -> Hold:
    """Keep birds of a batch out of orders, hatched or only expected. Raises BadInput for more than there are."""
    with write(by, "add hold", role=Role.KEEPER) as log:
        batch = lookup.get(Batch, farm_id=by.farm_id, pk=batch_id)
        hold = Hold(farm=log.farm, batch=batch, birds=birds, sex=sex, reason=reason.strip())
        _check(hold, log)
        log.add(hold)
        log.says(batch, describe(hold))
    return hold


def change(by: Actor, *, hold_id: int, expected_version: int | None, **fields: Any) -> Hold:
    """Change a hold: any of birds, sex, reason. Raises Stale, BadInput."""
    if not fields.keys() <= _CHANGEABLE:
        raise TypeError(f"not a hold's own: {sorted(fields.keys() - _CHANGEABLE)}")
    with write(by, "change hold", role=Role.KEEPER) as log:
        hold = lookup.get(Hold, farm_id=by.farm_id, pk=hold_id)
        stale.check(hold, expected_version)
        fields |= {"reason": fields["reason"].strip()} if "reason" in fields else {}
        wanted = Hold(farm=log.farm, batch=hold.batch, pk=hold.pk, birds=hold.birds, sex=hold.sex)
        for name, value in fields.items():
            setattr(wanted, name, value)
        # Birds lost since may have left fewer than are held: letting some go is always right.
        if wanted.birds > hold.birds or wanted.sex != hold.sex:
            _check(wanted, log)
        if log.change(hold, **fields):
            log.says(hold.batch, describe(hold))
    return hold


def remove(by: Actor, *, hold_id: int, expected_version: int | None = None) -> None:
    """Let the birds of a hold go to orders again. Raises Stale."""
    with write(by, "remove hold", role=Role.KEEPER) as log:
        hold = lookup.get(Hold, farm_id=by.farm_id, pk=hold_id)
        stale.check(hold, expected_version)
        log.says(hold.batch, _("No longer held: %(hold)s") % {"hold": describe(hold)})
        log.remove(hold)


def describe(hold: Hold) -> str:
    """Return the hold in words, for the history."""
    text = ngettext(
        "%(batch)s: %(birds)d bird kept out of orders",
        "%(batch)s: %(birds)d birds kept out of orders",
        hold.birds,
    ) % {"batch": hold.batch, "birds": hold.birds}
    return f"{text} ({hold.reason})" if hold.reason else text


def _check(hold: Hold, log: Log) -> None:
    batch, problems = hold.batch, dict[str, list[object]]()
    if hold.sex not in WantedSex.values or hold.sex == _NONE_OF.get(Sex(batch.sex)):
        problems["sex"] = [_("This batch has no such birds. Choose another.")]
    others = sum(one.birds for one in batch.holds.exclude(pk=hold.pk))
    free = max(0, heads.alive_on(batch, max(log.by.today, batch.arrived_on)) - others)
    if not 1 <= hold.birds <= free:
        problems["birds"] = [
            _("Enter a number from 1 to %(most)d.") % {"most": free}
            if free
            else _("No birds of this batch are left to hold.")
        ]
    if problems:
        raise BadInput(problems)
