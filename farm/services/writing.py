"""One write: transaction, lock, permission, history, and word to the calendars when it is committed."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from functools import reduce
from operator import and_
from typing import Any

from django.core.exceptions import ValidationError
from django.core.serializers.json import DjangoJSONEncoder
from django.db import DEFAULT_DB_ALIAS, models, transaction

from farm import dispatch
from farm.errors import BadInput
from farm.models import Alert, Change, Farm, HistoryEntry, Order, RotaRules
from farm.models.order import OrderStatus
from farm.services import locks
from farm.services.actor import Actor

#: What the odds of order lines hang on.
_WEIGHED = frozenset(
    {
        *("order", "orderline", "filling", "hold", "orderingrules"),
        *("batch", "countentry", "eggset", "eggentry", "intake"),
    }
)

#: What changes nothing of who does what: ticks are counted by the hourly sweep, so that a rota holds for a round.
_TICKS = frozenset({"choremark", "markphoto"})


class Log:
    """Collects the rows that one write makes, changes and removes, and saves them."""

    def __init__(self, farm: Farm, by: Actor) -> None:
        self.farm = farm
        self.by = by
        self.changes: list[Change] = []
        self.summary = ""
        self.noun: models.Model | None = None
        self.entry: HistoryEntry | None = None
        self.undoes: HistoryEntry | None = None

    def says(self, noun: models.Model | None, summary: str) -> None:
        """Set the line a keeper reads in the history, and the thing it is about."""
        self.noun, self.summary = noun, summary

    def add(self, row: models.Model) -> None:
        """Save a new row. Raises BadInput with its fields when the model refuses it."""
        validate(row)
        row.save(force_insert=True)
        self._record(row, before=None, after=snapshot(row))

    def change(self, row: models.Model, **fields: Any) -> bool:
        """Set `fields` on a row and save it if any differs; its version rises. Returns whether it did."""
        before = snapshot(row)
        for name, value in fields.items():
            setattr(row, name, value)
        if snapshot(row) == before:
            return False
        if hasattr(row, "version"):
            row.version += 1
        validate(row)
        row.save()
        row.refresh_from_db()
        self._record(row, before=before, after=snapshot(row))
        return True

    def remove(self, row: models.Model) -> None:
        """Delete a row."""
        before, key = snapshot(row), row.pk
        row.delete()
        self.changes.append(Change(model=name_of(row), row=key, before=before, after=None))

    def _record(self, row: models.Model, before: dict | None, after: dict) -> None:
        self.changes.append(Change(model=name_of(row), row=row.pk, before=before, after=after))


@contextmanager
def write(by: Actor, verb: str, *, role: str, closed: bool = False) -> Iterator[Log]:
    """Open one write on the actor's farm.

    role: the least role that may do it. closed: it may be done on a closed farm too. Everything inside is saved
    together or not at all. A write that changed no row leaves no history. Raises NotAllowed, NotFound.
    """
    by.require(role)
    with transaction.atomic():
        log = Log(locks.farm(by.farm_id, closed=closed), by)
        yield log
        if log.changes:
            _close(log, verb)


def _close(log: Log, verb: str) -> None:
    noun = log.noun
    log.entry = HistoryEntry.objects.create(
        farm=log.farm,
        at=log.by.now,
        member=log.by.member,
        login=log.by.login,
        face=log.by.face,
        verb=verb,
        noun=name_of(noun) if noun is not None else "",
        noun_id=noun.pk if noun is not None else None,
        summary=log.summary[:300],
        undoes=log.undoes,
    )
    for change in log.changes:
        change.entry = log.entry
    Change.objects.bulk_create(log.changes)
    Farm.objects.filter(pk=log.farm.pk).update(version=models.F("version") + 1)
    dispatch.after_commit("refresh_calendars", farm_id=log.farm.pk)
    if _may_alarm(log):
        dispatch.after_commit("refresh_alerts", farm_id=log.farm.pk)
    if _touches_orders(log):
        dispatch.after_commit("refresh_odds", farm_id=log.farm.pk)
    if _touches_rota(log):
        dispatch.after_commit("refresh_rota", farm_id=log.farm.pk)


def _touches_orders(log: Log) -> bool:
    """Say whether a line that is still open may stand otherwise than before the write."""
    written = {change.model for change in log.changes}
    return (
        bool(written & _WEIGHED)
        and Order.objects.filter(farm=log.farm, status=OrderStatus.CONFIRMED).exists()
    )


def _touches_rota(log: Log) -> bool:
    """Say whether the farm has a rota that may have to change."""
    written = {change.model for change in log.changes}
    return not written <= _TICKS and RotaRules.objects.filter(farm=log.farm).exists()


def _may_alarm(log: Log) -> bool:
    """Say whether birds were lost, or alerts stand that may no longer hold."""
    written = {change.model for change in log.changes}
    return "countentry" in written or Alert.objects.filter(farm=log.farm, withdrawn_at__isnull=True).exists()


def validate(row: models.Model) -> None:
    """Run the model's own checks. Raises BadInput by field."""
    try:
        row.full_clean(validate_constraints=False)
        if _all_checks_hold(row) and _is_unique(row):
            return
    except ValidationError:
        pass  # looked at once more below, with the words of all that is wrong
    try:
        row.full_clean()
    except ValidationError as refused:
        fields = {"" if name == "__all__" else name: texts for name, texts in refused.message_dict.items()}
        raise BadInput(fields) from refused


def _all_checks_hold(row: models.Model) -> bool:
    """Ask the database once for all check constraints: asked one by one they took a fifth of every write."""
    conditions = [
        models.Q(constraint.condition)
        for constraint in row._meta.constraints
        if isinstance(constraint, models.CheckConstraint)
    ]
    if not conditions:
        return True
    against = row._get_field_expression_map(meta=row._meta)  # type: ignore[attr-defined]
    return reduce(and_, conditions).check(against, using=row._state.db or DEFAULT_DB_ALIAS)


def _is_unique(row: models.Model) -> bool:
    try:
        for constraint in row._meta.constraints:
            if not isinstance(constraint, models.CheckConstraint):
                constraint.validate(type(row), row, using=row._state.db or DEFAULT_DB_ALIAS)
    except ValidationError:
        return False
    return True


def name_of(row: models.Model) -> str:
    """Return how history names the kind of a row: its model's name in lower case."""
    return str(row._meta.model_name)


def snapshot(row: models.Model) -> dict[str, Any]:
    """Return the row's columns as JSON values."""
    values = {field.attname: field.value_from_object(row) for field in row._meta.concrete_fields}
    return json.loads(json.dumps(values, cls=DjangoJSONEncoder))
