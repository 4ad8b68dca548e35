"""Chores short of hands, as the last rota left them: kept as JSON so that no page has to work the rota out."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from farm.models import RotaRules
from farm.phrase import Phrase, Quantity, Value
from farm.planning.rota.records import Key, Unfilled


@dataclass(frozen=True, slots=True)
class Short:
    """An occurrence short of hands. missing: how many. would_fill: what would help, the least first."""

    key: Key
    missing: int
    reason: Phrase
    would_fill: tuple[Phrase, ...] = ()


def short(rules: RotaRules | None) -> dict[Key, Short]:
    """Return what the rota found nobody for when it was last worked out, by occurrence; nothing without a rota."""
    return {each.key: each for each in map(_read, rules.unfilled if rules is not None else ())}


def to_json(unfilled: Iterable[Unfilled]) -> list[dict[str, Any]]:
    """Return what `short` reads."""
    return [
        {
            "source": each.key[0],
            "due": each.key[1].isoformat(),
            "round": each.key[2],
            "missing": each.missing,
            "reason": _plain(each.reason),
            "would_fill": [_plain(one) for one in each.would_fill],
        }
        for each in unfilled
    ]


def _read(row: Mapping[str, Any]) -> Short:
    return Short(
        (row["source"], date.fromisoformat(row["due"]), row["round"]),
        row["missing"],
        _phrase(row["reason"]),
        tuple(_phrase(one) for one in row["would_fill"]),
    )


def _plain(phrase: Phrase) -> dict[str, Any]:
    return {
        "text": phrase.text,
        "values": {name: _value(value) for name, value in phrase.values.items()},
        "plural": phrase.plural,
        "count": phrase.count,
    }


def _value(value: Value) -> object:
    if isinstance(value, Phrase):
        return _plain(value)
    if isinstance(value, Quantity):
        return {"value": value.value, "unit": value.unit, "digits": value.digits, "bare": value.bare}
    return {"day": value.isoformat()} if isinstance(value, date) else value


def _phrase(data: Mapping[str, Any]) -> Phrase:
    values = {name: _read_value(value) for name, value in data["values"].items()}
    return Phrase(data["text"], values, data["plural"], data["count"])


def _read_value(data: Any) -> Value:
    if not isinstance(data, dict):
        return data
    if "text" in data:
        return _phrase(data)
    return date.fromisoformat(data["day"]) if "day" in data else Quantity(**data)
