"""Makes records of an archive's rows and writes them, in an order in which no guard is broken on the way."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from datetime import date
from typing import Any

from django.db import models
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Housing
from farm.queries.archives import shape
from farm.services import housings, photos
from farm.services.archives import columns, judging
from farm.services.archives.opening import Archive, refuse
from farm.services.archives.reading import Read
from farm.services.archives.renumbering import Renumbering, unreadable
from farm.services.archives.upgrades import Rows

#: So many rows are written at once. Project default (judgement).
_AT_ONCE = 500
_MISREAD = (LookupError, TypeError, ValueError, AttributeError)
Pictures = Mapping[tuple[str, int], bytes]
#: Ledgers are written with what comes before what goes: the guards look at the sum after each line.
_FIRST: Mapping[str, Callable[[Any], Any]] = {
    "countentry": lambda row: -row.birds,
    "feedentry": lambda row: -row.grams,
    "eggentry": lambda row: row.kind == "culled",
}


def pictures(archive: Archive, found: Read) -> Pictures:
    """Return the pictures of an archive drawn anew, by noun and number. Raises BadInput for what is no picture."""
    drawn = {}
    for owner, name in found.files.items():
        try:
            drawn[owner] = photos.small_jpeg(archive.octets(name))
        except BadInput as refused:
            if "photo" not in refused.fields:
                raise
            raise refuse(_("%(name)s in it is no picture that can be read."), name=name) from refused
    return drawn


def write(rows: Rows, drawn: Pictures, renumbering: Renumbering, today: date) -> None:
    """Write every row under its new number, inside an open transaction. Raises BadInput; IntegrityError from guards."""
    farm_id = renumbering.number("farm", rows["farm"][0]["id"])
    codes = dict(_new_codes(rows))
    for noun, model in shape.exported().items():
        made = []
        for old, row in zip(rows[noun], renumbering.rows(noun, rows[noun]), strict=True):
            try:
                record = model(**_values(noun, _coded(noun, row, codes), today))
            except ValueError as wrong:
                raise unreadable(noun, old, wrong) from wrong
            if hasattr(record, "farm_id"):
                record.farm_id = farm_id
            for column in _file_columns(noun):
                setattr(record, column, drawn[noun, old["id"]])
            made.append(record)
        if noun in _FIRST:
            made.sort(key=_FIRST[noun])
        _save(noun, model, made)


def _save(noun: str, model: type[models.Model], made: list[Any]) -> None:
    # Django sets these to now, whatever they say; what they said is kept.
    dated = [name for name, field in shape.columns(noun).items() if getattr(field, "auto_now_add", False)]
    said = [(record.pk, {name: getattr(record, name) for name in dated}) for record in made]
    model._default_manager.bulk_create(made, batch_size=_AT_ONCE)
    for number, values in said if dated else ():
        model._default_manager.filter(pk=number).update(**values)


def _file_columns(noun: str) -> Iterator[str]:
    for name in shape.AS_FILES:
        owner, _dot, column = name.partition(".")
        if owner == noun:
            yield column


def _values(noun: str, row: Mapping[str, Any], today: date) -> dict[str, Any]:
    """Return a row's columns as a model takes them. Raises ValueError, saying which is wrong."""
    found: dict[str, Any] = {}
    for name, field in shape.columns(noun).items():
        try:
            found[name] = columns.value(field, row[name])
        except _MISREAD as misread:
            raise ValueError(f"{name}: {misread}") from misread
    try:
        judging.judge(noun, found, today)
    except _MISREAD as misread:
        raise ValueError(str(misread)) from misread
    return found


def _new_codes(rows: Rows) -> Iterator[tuple[str, str]]:
    """Yield old and new code of each housing whose code another farm's card carries here."""
    said = {row["code"] for row in rows["housing"] if isinstance(row["code"], str)}
    for code in Housing.objects.filter(code__in=said).values_list("code", flat=True):
        yield code, housings.new_code()


def _coded(noun: str, row: dict[str, Any], codes: Mapping[str, str]) -> dict[str, Any]:
    """Return a row with the new code of a housing, in the history too: undo compares."""
    if noun == "housing" and row["code"] in codes:
        return row | {"code": codes[row["code"]]}
    if noun != "change" or row["model"] != "housing":
        return row
    return row | {
        side: row[side] | {"code": codes[row[side]["code"]]}
        for side in ("before", "after")
        if row[side] and row[side].get("code") in codes
    }
