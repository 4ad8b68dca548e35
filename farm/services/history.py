"""Taking back what was written."""

from __future__ import annotations

import copy

from django.apps import apps
from django.db import IntegrityError, models
from django.db.models import QuerySet
from django.utils.translation import gettext as _

from farm.errors import BadInput, Stale
from farm.models import (
    Away,
    Batch,
    Change,
    CountEntry,
    FeedEntry,
    HistoryEntry,
    Housing,
    LineOdds,
    MarkPhoto,
    Stay,
)
from farm.models.member import Role
from farm.queries import hatching, heads, lookup, tally
from farm.services import (
    aways,
    batch_rules,
    counts,
    feed_entries,
    machine_rules,
    order_state,
    outside_days,
    rota_giving,
    stay_rules,
)
from farm.services.actor import Actor
from farm.services.writing import Log, snapshot, write

#: Rows that may be taken back. People, links and the farm itself are changed again, not undone.
UNDOABLE = frozenset(
    {
        "batch",
        "countentry",
        "stay",
        "housing",
        "observation",
        "choremark",
        "rearingprogramme",
        "programmeversion",
        "machine",
        "eggset",
        "eggentry",
        "supplier",
        "intake",
        "order",
        "orderline",
        "orderseries",
        "filling",
        "hold",
        "orderingrules",
        "settingproposal",
        "feed",
        "feedentry",
        "waitingtime",
        "weather",
        "ownchore",
        "postponement",
        "away",
        "pin",
        "assignment",
        "swap",
    }
)
#: Worked out and written again, or of no use without what goes: it never stands in the way.
_GO_ALONG = (LineOdds, MarkPhoto)


def undo(by: Actor, *, entry_id: int) -> HistoryEntry:
    """Take back one history entry: rows it made go, rows it removed return, fields it set go back.

    Lines of a ledger are never deleted: they are reversed, those of birds unless their whole batch goes. Raises Stale
    when something it touched was changed since, BadInput when it was undone already, is not undoable, or what would be
    left cannot be right.
    """
    with write(by, "undo", role=Role.KEEPER) as log:
        entry = lookup.get(HistoryEntry, farm_id=by.farm_id, pk=entry_id)
        changes = list(entry.changes.all())
        _refuse_if_not_undoable(entry, changes)
        made_batches = {c.row for c in changes if c.model == "batch" and c.before is None}
        clipped = {batch.pk: heads.clipped(batch) for batch in _batches(by, changes)}
        in_machines = hatching.conflicts(log.farm)
        _drop_cancelled(log, changes, made_batches)
        try:
            for change in reversed(changes):
                if change.model != "assignment":
                    _take_back(log, change, made_batches)
        except IntegrityError as refused:
            # Whatever the database will not have back was judged by nobody before; it is refused, not an accident.
            text = _("This cannot be undone any more: something else has taken its place.")
            raise BadInput.at("", text) from refused
        rota_giving.take_back(log, [change for change in changes if change.model == "assignment"])
        order_state.settle_undone(log, changes)
        _still_right(by, changes, clipped)
        machine_rules.check_all(in_machines, log.farm)
        log.undoes = entry
        log.says(_noun(entry), _("Undone: %(what)s") % {"what": entry.summary})
    assert log.entry is not None
    return log.entry


def can_undo(entry: HistoryEntry) -> bool:
    """Say whether `undo` may be offered: it can still be refused when things changed since."""
    return not hasattr(entry, "undone_by") and all(map(_undoable, entry.changes.all()))


def _refuse_if_not_undoable(entry: HistoryEntry, changes: list[Change]) -> None:
    if hasattr(entry, "undone_by"):
        raise BadInput.at("", _("This was already undone."))
    if not all(map(_undoable, changes)):
        raise BadInput.at("", _("This cannot be undone; change it again instead."))


def _undoable(change: Change) -> bool:
    """Say whether a change may be taken back. Days away from outside would only come again; of a forgotten member
    nothing is left to bring back."""
    values = change.after or change.before or {}
    return change.model in UNDOABLE and not values.get("outside") and not values.get("forgotten")


def _take_back(log: Log, change: Change, made_batches: set[int]) -> None:
    model = apps.get_model("farm", change.model)
    row = model._default_manager.filter(farm_id=log.farm.pk, pk=change.row).first()
    if change.after is None:
        assert change.before is not None
        _bring_back(log, model, change.before)
    elif row is None or not _same(snapshot(row), change.after):
        raise Stale(
            _("%(thing)s was changed again since. Undo the later change first.")
            % {"thing": row or model._meta.verbose_name}
        )
    elif change.before is None:
        _unmake(log, row, made_batches)
    else:
        fields = {name: _python(model, name, value) for name, value in _fields(change.before).items()}
        wanted = copy.copy(row)
        for name, value in fields.items():
            setattr(wanted, name, value)
        _judge_first(wanted)
        log.change(row, **fields)


def _judge_first(row: models.Model) -> None:
    """Judge before saving what the database refuses without a word to the keeper."""
    if isinstance(row, Stay):
        stay_rules.check_alone(row)


def _unmake(log: Log, row: models.Model, made_batches: set[int]) -> None:
    if isinstance(row, CountEntry) and row.batch_id not in made_batches:
        # Judged first: the database refuses a ledger below zero without a word to the keeper.
        batch_rules.check_ledger(row.batch, adding=(row.day, -row.birds))
        counts.reverse_in(log, row)
        return
    if isinstance(row, FeedEntry):
        feed_entries.reverse_in(log, row)
        return
    # Hidden relations too: a row that others point to cannot go, whether it knows of them or not.
    for relation in row._meta.get_fields(include_hidden=True):
        if not isinstance(relation, models.ForeignObjectRel) or relation.related_model in _GO_ALONG:
            continue
        leftovers = relation.related_model._default_manager.filter(**{relation.field.name: row})
        if leftovers.exists():
            raise Stale(
                _("%(thing)s has %(others)s by now. Undo those first.")
                % {"thing": row, "others": relation.related_model._meta.verbose_name_plural}
            )
    log.remove(row)


def _drop_cancelled(log: Log, changes: list[Change], made_batches: set[int]) -> None:
    """Remove count entries that were all taken back, of batches that go: without their batch they would say nothing.

    The history keeps them. A batch of which anything more than its beginning still counts is left to be refused. Before
    all else goes, so that bringing them back never passes below no birds.
    """
    begun = {change.row for change in changes if change.model == "countentry" and change.before is None}
    for key in sorted(made_batches):
        entries = list(CountEntry.objects.filter(farm=log.farm, batch=key).order_by("-pk"))
        if all(entry.pk in begun for entry in tally.standing(entries)):
            for entry in entries:  # newest first: a line that takes another back goes before it
                if entry.pk not in begun:
                    log.remove(entry)


def _bring_back(log: Log, model: type[models.Model], values: dict) -> None:
    row = model(**{name: _python(model, name, value) for name, value in values.items()})
    if isinstance(row, Stay):
        batch_rules.check_place(row, typed=False)
    if isinstance(row, Away) and aways.free(row.member, row.start, row.end):
        raise BadInput.at("", _("They are away on some of these days again."))
    if isinstance(row, Away):
        outside_days.make_room(log, row.member, row.start, row.end)
    log.add(row)


def _python(model: type[models.Model], attname: str, value: object) -> object:
    field = next(f for f in model._meta.concrete_fields if f.attname == attname)
    target = getattr(field, "target_field", field)  # a link is read as its target's number
    return target.to_python(value)


def _fields(values: dict) -> dict:
    return {name: value for name, value in values.items() if name not in {"id", "version"}}


def _same(now: dict, then: dict) -> bool:
    # A column that came later is as it was made: the history of before does not know it.
    return _fields(now) == _fields(now) | _fields(then)


def _noun(entry: HistoryEntry) -> models.Model | None:
    if entry.noun_id is None:
        return None
    return apps.get_model("farm", entry.noun)(pk=entry.noun_id)


def _batches(by: Actor, changes: list[Change]) -> QuerySet[Batch]:
    """Return the batches that the changes are of, as far as they are on the farm now."""
    keys: set[int] = set()
    for change in changes:
        values = change.before or change.after or {}
        keys |= {change.row} if change.model == "batch" else {values.get("batch_id") or 0}
    return Batch.objects.filter(farm_id=by.farm_id, pk__in=keys)


def _still_right(by: Actor, changes: list[Change], clipped: dict[int, dict[int, int]]) -> None:
    """Judge what is left as if it had been typed: a ledger below zero or clashing stays refuse the undo.

    clipped: birds each stay lacked before, by batch (`heads.clipped`). Stays the undo touched are judged in full, the
    batch's others from today on. A stay that comes back may lack what was lost meanwhile, but no bird that another has.
    """
    touched = {change.row for change in changes if change.model == "stay"}
    for batch in _batches(by, changes):
        batch_rules.check_ledger(batch)
        batch_rules.check_untouched(batch)
        lacking = heads.clipped_by_losses(batch) | clipped.get(batch.pk, {})
        for stay in Stay.objects.filter(batch=batch).select_related("housing", "batch"):
            if stay.pk in touched:
                batch_rules.check_place(stay, typed=False)
                batch_rules.check_stay(stay, by.today, clipped_before=lacking)
            else:
                batch_rules.check_place(stay, since=by.today)
    for change in changes:
        if change.model == "housing":
            for housing in Housing.objects.filter(farm_id=by.farm_id, pk=change.row):
                for stay in Stay.objects.filter(housing=housing).select_related("housing", "batch"):
                    batch_rules.check_place(stay, since=by.today)
