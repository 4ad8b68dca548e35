"""Days to wait after a medicine: entered, changed and removed by people, from the label or as the vet says."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput
from farm.models import Batch, WaitingTime
from farm.models.feed import Product
from farm.models.member import Role
from farm.queries import lookup
from farm.services import day_rules, stale
from farm.services.actor import Actor
from farm.services.writing import write

MOST_DAYS = 365  # project default (judgement): a guard against a slip, as in the database


def add(by: Actor, *, batch_id: int, **fields: Any) -> WaitingTime:
    """Enter days to wait. `fields` are the model's: what, given_on, days, product, note. Raises BadInput by field."""
    with write(by, "add waiting time", role=Role.HELPER) as log:
        batch = lookup.get(Batch, farm_id=by.farm_id, pk=batch_id)
        wait = WaitingTime(farm=log.farm, batch=batch, **_tidied(fields))
        _check(by, wait)
        log.add(wait)
        log.says(batch, f"{batch}: {line(wait)}")
    return wait


def change(by: Actor, *, wait_id: int, expected_version: int | None, **fields: Any) -> WaitingTime:
    """Change days to wait: the last day it was given moves on while it is given. Raises Stale, BadInput."""
    with write(by, "change waiting time", role=Role.KEEPER) as log:
        wait = lookup.get(WaitingTime, farm_id=by.farm_id, pk=wait_id)
        stale.check(wait, expected_version)
        tidied = _tidied(fields)
        _check(by, WaitingTime(**{name: getattr(wait, name) for name in _FIELDS} | tidied, batch=wait.batch))
        log.change(wait, **tidied)
        log.says(wait.batch, f"{wait.batch}: {line(wait)}")
    return wait


def remove(by: Actor, *, wait_id: int, expected_version: int | None = None) -> None:
    """Remove days to wait that were entered by mistake; the history keeps them. Raises Stale."""
    with write(by, "remove waiting time", role=Role.KEEPER) as log:
        wait = lookup.get(WaitingTime, farm_id=by.farm_id, pk=wait_id)
        stale.check(wait, expected_version)
        log.says(wait.batch, _("%(batch)s: removed: %(wait)s") % {"batch": wait.batch, "wait": line(wait)})
        log.remove(wait)


def line(wait: WaitingTime) -> str:
    """Return the waiting time in words: "5 days to wait after wormer, last given 3 May 2031"."""
    text = ngettext(
        "%(days)d day to wait for %(product)s after %(what)s, last given %(day)s",
        "%(days)d days to wait for %(product)s after %(what)s, last given %(day)s",
        wait.days,
    )
    product = Product(wait.product).label
    day = day_rules.shown(wait.given_on)
    return text % {"days": wait.days, "product": product, "what": wait.what, "day": day}


_FIELDS = ("what", "given_on", "days", "product", "note")


def _tidied(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value.strip() if name in ("what", "note") else value for name, value in fields.items()}


def _check(by: Actor, wait: WaitingTime) -> None:
    """Raise BadInput, all fields at once, for what cannot be right."""
    problems: dict[str, list[object]] = {}
    if not wait.what:
        problems["what"] = [_("Write what was given, as on the label.")]
    if not 0 <= wait.days <= MOST_DAYS:
        problems["days"] = [_("Enter a number from 0 to %(most)d.") % {"most": MOST_DAYS}]
    if wait.product not in Product.values:
        problems["product"] = [_("Choose meat or eggs.")]
    if wait.given_on > by.today:
        # A wait binds from the day it was given: a day still to come would let birds go meanwhile.
        problems["given_on"] = [
            _("This day is still to come. Write today, and change it as long as you go on giving it.")
        ]
    elif wait.given_on < wait.batch.hatch_day:
        day = day_rules.shown(wait.batch.hatch_day)
        problems["given_on"] = [_("They only hatched on %(day)s.") % {"day": day}]
    elif typo := day_rules.typo(wait.given_on, by.today):
        problems["given_on"] = typo
    if problems:
        raise BadInput(problems)
