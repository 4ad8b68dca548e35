"""A proposal as JSON and back, so that it can be kept and shown again as it was.

A day is written "2031-04-12", a phrase as an object of its text, plural and values; days, quantities and phrases among
its values as an object that names their kind. Names of customers are never in it where a need names its lines by key.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, fields
from datetime import date
from typing import Any, TypeVar

from farm.phrase import Phrase, Quantity, Value
from farm.planning import codec
from farm.planning.codec import ReadingError
from farm.planning.ordering.records import LineAnswer, Proposal, ProposedIntake, ProposedSet, Way
from farm.planning.solution import PlanStay

VERSION = 1
T = TypeVar("T")


@dataclass(frozen=True)
class Content:
    """A proposal with what was known when it was made.

    choices: by type, the programme its birds follow, as a keeper chooses one. covered: lines that need nothing.
    later: lines left for another time. confidence: how sure lines are to be met. entry: the newest line of history it
    knows of, 0 for none.
    """

    proposal: Proposal
    choices: Mapping[str, str]
    covered: int
    later: int
    confidence: float
    entry: int


def to_json(content: Content) -> dict[str, Any]:
    """Return the content as objects JSON knows."""
    made = content.proposal
    return {
        "version": VERSION,
        "sets": [_plain(each) for each in made.sets],
        "intakes": [_plain(each) for each in made.intakes],
        "lines": {key: _plain(made.lines[key]) for key in sorted(made.lines)},
        "cost": made.cost,
        "digest": made.digest,
        "choices": dict(sorted(content.choices.items())),
        "covered": content.covered,
        "later": content.later,
        "confidence": content.confidence,
        "entry": content.entry,
    }


def from_json(data: Mapping[str, Any]) -> Content:
    """Return the content that `data` holds. Raises ReadingError for that of another version, or none at all."""
    try:
        codec.refuse_other(data["version"], VERSION, "", None)
        proposal = Proposal(
            sets=tuple(_read(ProposedSet, each) for each in data["sets"]),
            intakes=tuple(_read(ProposedIntake, each) for each in data["intakes"]),
            lines={key: _read(LineAnswer, each) for key, each in data["lines"].items()},
            cost=data["cost"],
            digest=data["digest"],
        )
        numbers = (data[name] for name in ("covered", "later", "confidence", "entry"))
        return Content(proposal, data["choices"], *numbers)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        if isinstance(error, ReadingError):
            raise
        raise ReadingError([("", Phrase(f"{type(error).__name__}: {error}"))]) from error


def _plain(value: Any) -> Any:
    """Return a record as an object of its fields."""
    if isinstance(value, Phrase):
        return _plain_phrase(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple):
        return [_plain(each) for each in value]
    if isinstance(value, PlanStay | Way | ProposedSet | ProposedIntake | LineAnswer):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    return value


def _plain_phrase(phrase: Phrase) -> dict[str, Any]:
    values = {name: _plain_value(value) for name, value in phrase.values.items()}
    return {"text": phrase.text, "values": values, "plural": phrase.plural, "count": phrase.count}


def _plain_value(value: Value) -> Any:
    if isinstance(value, Phrase):
        return {"phrase": _plain_phrase(value)}
    if isinstance(value, Quantity):
        return {"quantity": [value.value, value.unit, value.digits, value.bare]}
    return {"day": value.isoformat()} if isinstance(value, date) else value


def _read(kind: type[T], data: Mapping[str, Any]) -> T:
    return kind(**{name: _READERS.get(name, _same)(value) for name, value in data.items()})


def _read_phrase(data: Mapping[str, Any]) -> Phrase:
    values = {name: _read_value(value) for name, value in data["values"].items()}
    return Phrase(data["text"], values, data["plural"], data["count"])


def _read_value(value: Any) -> Value:
    if not isinstance(value, Mapping):
        found: Value = value
        return found
    if "phrase" in value:
        return _read_phrase(value["phrase"])
    return Quantity(*value["quantity"]) if "quantity" in value else date.fromisoformat(value["day"])


def _same(value: Any) -> Any:
    return value


#: By the name of a field, what reads it; others stand as they are.
_READERS: Mapping[str, Callable[[Any], Any]] = {
    **dict.fromkeys(("set_on", "hatch_day", "day", "leaves_on", "start", "end"), date.fromisoformat),
    **dict.fromkeys(("why", "why_day", "why_eggs", "why_birds", "phrase"), _read_phrase),
    "lines": tuple,
    "stays": lambda rows: tuple(_read(PlanStay, each) for each in rows),
    "ways": lambda rows: tuple(_read(Way, each) for each in rows),
}
