"""One column's value from JSON: of exactly its type, within its own rules. ValueError for anything else."""

from __future__ import annotations

from datetime import date, datetime, time
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.backends.base.operations import BaseDatabaseOperations

#: Days outside of these are slips or meant to do harm: plans are worked out up to the last of them. Project default
#: (judgement).
FIRST_YEAR, LAST_YEAR = 1950, 2150


def value(field: models.Field, said: Any) -> Any:
    """Return what a column holds. Raises ValueError for another type, or what its own rules refuse."""
    if said is None:
        if not field.null:
            raise ValueError("nothing where something must be")
        return None
    found = _typed(field, said)
    try:
        field.run_validators(found)
    except ValidationError as refused:
        raise ValueError("; ".join(refused.messages)) from refused
    if field.choices and found not in dict(field.flatchoices) and not (found == "" and field.blank):
        raise ValueError(f"{found!r} is none of its values")
    return found


def _typed(field: models.Field, said: Any) -> Any:
    if isinstance(field, models.JSONField):
        return _json(field, said)
    if isinstance(field, models.DateTimeField):
        return _instant(said)
    if isinstance(field, models.DateField):
        return _day(said)
    if isinstance(field, models.TimeField):
        return _same_text(time.fromisoformat(_is(said, str)), said)
    if isinstance(field, models.BooleanField):
        return _is(said, bool)
    if isinstance(field, models.FloatField):
        return float(_is(said, int, float))
    if field.is_relation or isinstance(field, models.IntegerField):
        return _whole(field, said)
    if isinstance(field, models.CharField | models.TextField):
        return _is(said, str)
    raise ValueError(f"no way to read a {type(field).__name__}")


def _is(said: Any, *kinds: type) -> Any:
    # A bool is an int to Python; to a reader of files it is not.
    if type(said) not in kinds:
        raise ValueError(f"{type(said).__name__} instead of {kinds[0].__name__}")
    return said


def _whole(field: models.Field, said: Any) -> int:
    """Return a whole number that every database can keep: SQLite by itself would take any."""
    kind = field.target_field if isinstance(field, models.ForeignKey) else field
    low, high = BaseDatabaseOperations.integer_field_ranges[kind.get_internal_type()]
    if not low <= _is(said, int) <= high:
        raise ValueError(f"{said} is out of range")
    return int(said)


def _json(field: models.Field, said: Any) -> Any:
    usual = field.get_default()
    return _is(said, type(usual)) if isinstance(usual, list | dict) else said


def _day(said: Any) -> date:
    return _in_reach(_same_text(date.fromisoformat(_is(said, str)), said))


def _instant(said: Any) -> datetime:
    found = datetime.fromisoformat(_is(said, str))
    if found.utcoffset() is None:
        raise ValueError("an instant without a zone")
    return _in_reach(found)


def _in_reach(found: Any) -> Any:
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise ValueError(f"the year {found.year}")
    return found


def _same_text(found: Any, said: str) -> Any:
    if found.isoformat() != said:
        raise ValueError(f"{said[:40]!r} in an unusual way")
    return found
