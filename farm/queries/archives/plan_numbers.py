"""The numbers inside plans and proposals, which name housings, batches, stays and lines by key."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

Number = Callable[[str, int], int]

_THINGS = {
    **{"batch": "batch", "batches": "batch", "housing": "housing", "housings": "housing"},
    **{"forbidden": "housing", "setter": "machine", "hatcher": "machine", "supplier": "supplier"},
}
#: By the first word of a stamp: the noun of its number. A ledger's stamp is its newest line.
_STAMPED = {"housing": "housing", "batch": "batch", "ledger": "batch", "stay": "stay"}
_NEW = re.compile(r"new:([0-9]{1,18}):")
_PART = re.compile(r"([0-9]{1,18})\.([0-9]+)")
_NUMBER = re.compile(r"[0-9]{1,18}")


def renewed(value: Any, number: Number) -> Any:
    """Return a problem, a solution or a change of one with other keys."""
    if isinstance(value, list):
        return [renewed(each, number) for each in value]
    if not isinstance(value, Mapping):
        return value
    return {name: _field(name, each, number) for name, each in value.items()}


def choice(text: str, number: Number) -> str:
    """Return what a batch can follow: a farm's own programme by its number, a built-in one by its key."""
    return key(text, "rearingprogramme", number)


def key(text: str, noun: str, number: Number) -> str:
    """Return the key of a thing: its number as text, or `new:<choice>:<n>` for one that is only thought of."""
    if _NUMBER.fullmatch(text):
        return str(number(noun, int(text)))
    return _NEW.sub(lambda m: f"new:{number('rearingprogramme', int(m[1]))}:", text)


def stamps(said: Mapping[str, Any], number: Number) -> dict[str, Any]:
    """Return the versions of rows a plan has read, by their new numbers."""
    rows: dict[str, Any] = {}
    for name, stamp in said["rows"].items():
        kind, _colon, old = name.partition(":")
        if kind in _STAMPED:
            name = f"{kind}:{number(_STAMPED[kind], int(old))}"
            stamp = number("countentry", stamp) if kind == "ledger" else stamp
        rows[name] = stamp
    return {**said, "entry": number("historyentry", said["entry"]), "rows": rows}


def proposal(said: Mapping[str, Any], number: Number) -> dict[str, Any]:
    """Return a proposal of what to set and buy with other keys; its lines are those of orders."""
    found = {name: _of_proposal(name, each, number) for name, each in said.items()}
    found["lines"] = {
        key(line, "orderline", number): _of_proposal("", answer, number)
        for line, answer in said["lines"].items()
    }
    found["choices"] = {kind: choice(text, number) for kind, text in said["choices"].items()}
    found["entry"] = number("historyentry", said["entry"])
    return found


def _of_proposal(name: str, value: Any, number: Number) -> Any:
    if name == "lines" and isinstance(value, list):
        return [key(line, "orderline", number) for line in value]
    if name == "values" and isinstance(value, Mapping) and isinstance(value.get("line"), str):
        # Phrases name a line by its key, so that no customer's name is kept.
        value = {**value, "line": key(value["line"], "orderline", number)}
        return {each: _of_proposal("", inner, number) for each, inner in value.items()}
    if isinstance(value, list):
        return [_of_proposal("", each, number) for each in value]
    if isinstance(value, Mapping):
        return {each: _of_proposal(each, inner, number) for each, inner in value.items()}
    if isinstance(value, str) and name in _THINGS:
        return key(value, _THINGS[name], number)
    return value


def _field(name: str, value: Any, number: Number) -> Any:
    noun = _THINGS.get(name)
    if noun is not None and isinstance(value, str):
        return key(value, noun, number)
    if noun is not None and isinstance(value, list):
        return [_field(name, each, number) for each in value]
    if noun is not None and isinstance(value, Mapping):
        return {**renewed(value, number), "key": key(value["key"], noun, number)}
    if name == "part" and isinstance(value, str):
        return _part(value, number)
    if name == "parts" and isinstance(value, list):
        return [{**renewed(each, number), "key": _part(each["key"], number)} for each in value]
    return renewed(value, number)


def _part(text: str, number: Number) -> str:
    """Return the key of a part: given parts carry the number of the stay they are in, as "41.1"."""
    found = _PART.fullmatch(text)
    return f"{number('stay', int(found[1]))}.{found[2]}" if found else text
