"""Frozen dataclasses to JSON and back, named fields only, and the digest of what they say.

A date is written "2031-04-12", a set as a sorted list, a tuple as a list, a nested dataclass as an object. Reading
collects every problem with its path, such as `batches[2].stages[0].from_age`, before it refuses.
"""

from __future__ import annotations

import hashlib
import json
import types
from collections.abc import Callable, Mapping
from dataclasses import MISSING, fields, is_dataclass
from datetime import date
from functools import cache
from typing import Any, TypeVar, Union, get_args, get_origin, get_type_hints

from farm.phrase import N_, Phrase

Trouble = tuple[str, Phrase]
T = TypeVar("T")


_PLAIN = frozenset({int, str, bool, type(None)})


class ReadingError(ValueError):
    """Data that cannot be read, or that says something impossible.

    problems: every (path, message) found.
    """

    def __init__(self, problems: list[Trouble]) -> None:
        self.problems = problems
        super().__init__("\n".join(f"{path}: {message}" for path, message in problems))


def plain(value: Any) -> Any:
    """Return `value` as objects JSON knows."""
    if type(value) in _PLAIN:
        return value
    if is_dataclass(value):
        return {field.name: plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, frozenset):
        return sorted(plain(each) for each in value)
    if _PLAIN.issuperset(map(type, value)):  # arrays by age are long
        return list(value)
    return [plain(each) for each in value]


def digest(value: Any) -> str:
    """Return the SHA-256 of the canonical JSON of `value`, in hexadecimal."""
    text = json.dumps(plain(value), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def read(kind: type[T], data: Any, path: str = "") -> T:
    """Return the `kind` that `data` describes. Raises ReadingError with every problem found."""
    problems: list[Trouble] = []
    value = _read(kind, data, path, problems)
    if problems:
        raise ReadingError(problems)
    return value


def _read(kind: Any, data: Any, path: str, problems: list[Trouble]) -> Any:
    origin = get_origin(kind)
    if origin in (Union, types.UnionType):
        (inner,) = (each for each in get_args(kind) if each is not type(None))
        return None if data is None else _read(inner, data, path, problems)
    if origin in (tuple, frozenset):
        return _read_many(origin, get_args(kind)[0], data, path, problems)
    if is_dataclass(kind):
        return _read_fields(kind, data, path, problems)
    return _read_one(kind, data, path, problems)


def _read_many(
    origin: Callable[[list[Any]], Any], inner: Any, data: Any, path: str, problems: list[Trouble]
) -> Any:
    if not isinstance(data, list):
        problems.append((path, Phrase(N_("must be a list"))))
        return origin([])
    return origin([_read(inner, each, f"{path}[{place}]", problems) for place, each in enumerate(data)])


def _read_one(kind: Any, data: Any, path: str, problems: list[Trouble]) -> Any:
    if kind is date:
        try:
            return date.fromisoformat(data)
        except (TypeError, ValueError):
            problems.append((path, Phrase(N_("must be a day, like 2031-04-12"))))
            return date.min
    # A bool is an int to Python; to a reader of files it is not.
    if type(data) is not kind:
        said = {
            int: N_("must be a whole number"),
            str: N_("must be a text"),
            bool: N_("must be true or false"),
        }
        problems.append((path, Phrase(said[kind])))
        return kind()
    return data


@cache
def _hints(kind: type) -> Mapping[str, Any]:
    return get_type_hints(kind)


def _read_fields(kind: Any, data: Any, path: str, problems: list[Trouble]) -> Any:
    if not isinstance(data, Mapping):
        problems.append((path, Phrase(N_("must be a table of named fields"))))
        return None
    lead = f"{path}." if path else ""
    known = {field.name: field for field in fields(kind)}
    for name in sorted(set(data) - set(known)):
        problems.append(
            (
                f"{lead}{name}",
                Phrase(N_("is not a field here; known are: %(known)s"), {"known": ", ".join(known)}),
            )
        )
    before, values = len(problems), {}
    for name, field in known.items():
        if name in data:
            values[name] = _read(_hints(kind)[name], data[name], f"{lead}{name}", problems)
        elif field.default is MISSING and field.default_factory is MISSING:
            problems.append((f"{lead}{name}", Phrase(N_("is missing"))))
    return None if len(problems) > before else kind(**values)


def refuse_other(version: int, known: int, found: str, said: object) -> None:
    """Raise ReadingError when the data has another version than `known`, or a digest that is not its own."""
    if version != known:
        text = N_("is %(version)d, but this program reads version %(known)d")
        raise ReadingError([("version", Phrase(text, {"version": version, "known": known}))])
    if said is not None and said != found:
        raise ReadingError([("digest", Phrase(N_("does not match the data: it was changed or cut off")))])
