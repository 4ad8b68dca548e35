"""The ledger of a batch: what arrived, died, was sold. Lines are added, never edited."""

from __future__ import annotations

from datetime import date

from django.db.models import Q
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm import dispatch
from farm.errors import BadInput
from farm.models import Batch, CountEntry, Housing
from farm.models.count_entry import GAINS, CountKind
from farm.models.member import Role
from farm.queries import lookup
from farm.services import batch_rules, day_rules, order_state, wait_rules
from farm.services.actor import Actor
from farm.services.writing import Log, write

MOST_BIRDS = 5000  # project default (judgement)


def add(
    by: Actor,
    *,
    batch_id: int,
    kind: str,
    birds: int,
    day: date,
    housing_id: int | None = None,
    note: str = "",
    override_reason: str = "",
    client_key: str = "",
) -> CountEntry:
    """Add one line: `birds` is how many, always above 0; the kind decides the sign.

    override_reason: why birds go before days to wait are over; keepers only. client_key: a device's own key; the same
    key again returns the first line and writes nothing. Raises BadInput when the day or number cannot be right: before
    arrival, in the future, more than are alive on that day or any later one; or when the birds must wait.
    """
    with write(by, "count", role=Role.HELPER) as log:
        known = client_key and CountEntry.objects.filter(farm_id=by.farm_id, client_key=client_key).first()
        if known:
            return known
        batch = lookup.get(Batch, farm_id=by.farm_id, pk=batch_id)
        housing = lookup.get_or_none(Housing, farm_id=by.farm_id, pk=housing_id)
        batch_rules.refuse_expected(batch)
        _check(by, batch, kind, birds, day)
        _check_place(batch, housing, kind, day)
        reason = wait_rules.check(by, batch, kind, day, override_reason)
        lost = 0 if kind in GAINS else -birds
        batch_rules.check_ledger(batch, field="birds", adding=(day, lost))
        entry = add_in(
            log,
            batch,
            kind=kind,
            birds=birds,
            day=day,
            housing=housing,
            note=note,
            override_reason=reason,
            client_key=client_key,
        )
        log.says(batch, f"{batch}: {line(entry)}")
        if kind not in GAINS:
            dispatch.after_commit("propose_after", farm_id=by.farm_id, why="losses")
    return entry


def reverse(by: Actor, *, entry_id: int) -> CountEntry:
    """Take a line back by adding its opposite on the same day. Raises BadInput when it was taken back already, or the
    ledger would fall below zero without it."""
    with write(by, "reverse count", role=Role.HELPER) as log:
        entry = lookup.get(CountEntry, farm_id=by.farm_id, pk=entry_id)
        batch_rules.refuse_expected(entry.batch)
        _refuse_twice(entry)
        batch_rules.check_ledger(entry.batch, adding=(entry.day, -entry.birds))
        opposite = reverse_in(log, entry)
        log.says(
            entry.batch, _("%(batch)s: taken back: %(line)s") % {"batch": entry.batch, "line": line(entry)}
        )
    return opposite


def add_in(
    log: Log,
    batch: Batch,
    *,
    kind: str,
    birds: int,
    day: date,
    housing: Housing | None = None,
    note: str = "",
    override_reason: str = "",
    client_key: str = "",
) -> CountEntry:
    """Add a line inside an open write, its sign set by its kind; the caller checks the ledger."""
    entry = CountEntry(
        farm=log.farm,
        batch=batch,
        kind=kind,
        birds=birds if kind in GAINS else -birds,
        day=day,
        housing=housing,
        note=note,
        override_reason=override_reason,
        member=log.by.member,
        client_key=client_key,
        created_at=log.by.now,
    )
    log.add(entry)
    return entry


def reverse_in(log: Log, entry: CountEntry) -> CountEntry:
    """Add the opposite of `entry` inside an open write; a hand-over it stood for goes from its order.

    Raises BadInput when it was taken back already.
    """
    _refuse_twice(entry)
    order_state.release(log, entry)
    opposite = CountEntry(
        farm=log.farm,
        batch=entry.batch,
        kind=CountKind.REVERSED,
        birds=-entry.birds,
        day=entry.day,
        housing=entry.housing,
        reverses=entry,
        member=log.by.member,
        created_at=log.by.now,
    )
    log.add(opposite)
    return opposite


def line(entry: CountEntry) -> str:
    """Return the line in words: "3 birds died"."""
    count = abs(entry.birds)
    kind = CountKind(entry.kind).label
    return ngettext("%(count)d bird %(kind)s", "%(count)d birds %(kind)s", count) % {
        "count": count,
        "kind": kind,
    }


def _refuse_twice(entry: CountEntry) -> None:
    if hasattr(entry, "reversed_by"):
        raise BadInput.at("", _("This line was already taken back."))


def _check_place(batch: Batch, housing: Housing | None, kind: str, day: date) -> None:
    """Raise BadInput for birds lost in a housing where the batch was neither that day nor the day before."""
    if housing is None or kind in GAINS:
        return
    there = batch.stays.filter(Q(end__isnull=True) | Q(end__gte=day), housing=housing, start__lte=day)
    if not there.exists():
        text = _("No birds of this batch are in %(housing)s on %(day)s.")
        raise BadInput.at("housing_id", text % {"housing": housing, "day": day_rules.shown(day)})


def _check(by: Actor, batch: Batch, kind: str, birds: int, day: date) -> None:
    problems: dict[str, list[object]] = {}
    if kind not in set(CountKind.values) - {CountKind.REVERSED}:
        problems["kind"] = [_("Choose what happened.")]
    if not 1 <= birds <= MOST_BIRDS:
        problems["birds"] = [_("Enter a number from 1 to %(most)d.") % {"most": MOST_BIRDS}]
    if day > by.today:
        problems["day"] = [_("This day is still to come; record it when it has happened.")]
    elif day < batch.arrived_on:
        problems["day"] = [
            _("The batch only arrives on %(day)s.") % {"day": day_rules.shown(batch.arrived_on)}
        ]
    if problems:
        raise BadInput(problems)
