"""A history entry in plain words: which records it touched, and what of them is different, field by field."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from django.apps import apps
from django.db import models
from django.utils.translation import gettext as _

from farm.models import Change, Farm, HistoryEntry
from farm.queries import history as read
from farm.services import history
from farm.web.history import values
from farm.web.history.values import Names

#: Columns that are nobody's news: secrets, and what the program keeps for itself.
_SILENT = frozenset(
    {"id", "farm", "created_at", "client_key", "content", "digest", "edited", "built_in", "login", "email"}
)
_LINKED = {
    "batch": "batch",
    "housing": "housing-page",
    "eggset": "egg-set",
    "intake": "intake",
    "feed": "feed-page",
    "order": "order",
    "orderseries": "series-page",
}


@dataclass(frozen=True, slots=True)
class FieldLine:
    """One field: its label, and what it said before and after ("" for nothing)."""

    label: str
    before: str
    after: str


@dataclass(frozen=True, slots=True)
class ThingLine:
    """One record: what it is called, and whether it was made, changed or removed."""

    kind: str
    name: str
    did: str
    fields: tuple[FieldLine, ...]


@dataclass(frozen=True, slots=True)
class EntryLine:
    """One entry as a page shows it. page: the name of the address of the thing it is about, "" for none."""

    entry: HistoryEntry
    things: tuple[ThingLine, ...]
    can_undo: bool
    page: str


def lines(farm: Farm, entries: Iterable[HistoryEntry]) -> list[EntryLine]:
    """Return entries in words. The names of everything they mention are read together, one query a model."""
    rows = list(entries)
    names = read.names(farm, _mentioned(rows))
    return [
        EntryLine(
            entry=entry,
            things=tuple(_thing(change, names, farm.units) for change in entry.changes.all()),
            can_undo=history.can_undo(entry),
            page=_page(entry, names),
        )
        for entry in rows
    ]


def _mentioned(entries: Iterable[HistoryEntry]) -> dict[type[models.Model], set[int]]:
    found: dict[type[models.Model], set[int]] = {}
    for entry in entries:
        if entry.noun in _LINKED and entry.noun_id is not None:
            found.setdefault(_model(entry.noun) or Change, set()).add(entry.noun_id)
        for change in entry.changes.all():
            for field, before, after in _columns(change):
                if field.is_relation:
                    found.setdefault(field.related_model, set()).update({before, after} - {None})  # type: ignore[arg-type]
    return found


def _columns(change: Change) -> Iterator[tuple[models.Field, object, object]]:
    """Yield each column worth telling with its values; of a change only those that differ."""
    model, before, after = _model(change.model), change.before or {}, change.after or {}
    if model is None:
        return
    for field in model._meta.concrete_fields:
        if not field.editable or field.name in _SILENT or field.name.endswith("sha256"):
            continue
        was, now = before.get(field.attname), after.get(field.attname)
        if was != now:
            yield field, was, now


def _thing(change: Change, names: Names, system: str) -> ThingLine:
    model, row = _model(change.model), change.after or change.before or {}
    found = []
    for field, was, now in _columns(change):
        before = values.shown(field, was, change.before or {}, names, system)
        after = values.shown(field, now, change.after or {}, names, system)
        if before != after:
            found.append(FieldLine(str(field.verbose_name), before, after))
    return ThingLine(
        kind=str(model._meta.verbose_name) if model else change.model,
        name=str(row.get("name") or row.get("title") or ""),
        did=_did(change),
        fields=tuple(found),
    )


def _did(change: Change) -> str:
    if change.before is None:
        return _("new")
    return _("removed") if change.after is None else _("changed")


def _page(entry: HistoryEntry, names: Names) -> str:
    model = _model(entry.noun)
    there = model is not None and entry.noun_id is not None and (model, entry.noun_id) in names
    return _LINKED.get(entry.noun, "") if there else ""


def _model(name: str) -> type[models.Model] | None:
    """Return the model that history calls `name`, whichever app it lives in."""
    return next((model for model in apps.get_models() if model._meta.model_name == name), None)
