"""Where rows name other rows by number: foreign keys, and every text and JSON that has a number in it.

A farm that is brought gets new numbers, so each place must be known. EMBEDDED is the one list of them.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

from farm.planning import problem as planning
from farm.planning import solution as solutions
from farm.queries.archives import plan_numbers, shape, values

#: Given a noun and an old number, what stands for it.
Number = Callable[[str, int], int]
Renew = Callable[[Mapping[str, Any], Number], Any]

#: How sources of the agenda, jobs of own chores and keys of alerts call things.
_CALLED = {
    **{"batch": "batch", "room": "housing", "machine": "machine", "eggs": "eggset"},
    **{"line": "orderline", "feed": "feed", "own": "ownchore"},
}
_THING = re.compile(rf"\b({'|'.join(_CALLED)}):([0-9]{{1,18}})\b")
_FEED_LINE = re.compile(r"/(order_feed|check_feed)/([0-9]{1,18})\b")
_LIT_BATCH = re.compile(r"/(set_light)/([0-9]{1,18})(?=-)")
_COLD = re.compile(r"\bcold:([0-9]{1,18}):([0-9]{1,18})(?=:)")
_LOSSES = re.compile(r"\blosses:([0-9]{1,18})(?=:)")


def called(text: str, number: Number) -> str:
    """Return a source, job or key with other numbers: "batch:7/move/room:3", "own:4", "cold:7:3:2031-01-05"."""
    text = _THING.sub(lambda m: f"{m[1]}:{number(_CALLED[m[1]], int(m[2]))}", text)
    text = _FEED_LINE.sub(lambda m: f"/{m[1]}/{number('feedentry', int(m[2]))}", text)
    text = _LIT_BATCH.sub(lambda m: f"/{m[1]}/{number('batch', int(m[2]))}", text)
    text = _COLD.sub(lambda m: f"cold:{number('batch', int(m[1]))}:{number('housing', int(m[2]))}", text)
    return _LOSSES.sub(lambda m: f"losses:{number('batch', int(m[1]))}", text)


def row(name: str, said: Mapping[str, Any], number: Number) -> dict[str, Any]:
    """Return a row with other numbers, its own included.

    Raises ValueError, TypeError, LookupError or AttributeError for JSON that is not what the column holds.
    """
    return _linked(name, said, number) | {
        column: renew(said, number) for column, renew in EMBEDDED.get(name, {}).items() if column in said
    }


def _linked(name: str, said: Mapping[str, Any], number: Number) -> dict[str, Any]:
    found = dict(said)
    for column, field in shape.columns(name).items():
        if field.primary_key and column in found:
            found[column] = number(name, found[column])
        elif field.is_relation and found.get(column) is not None:
            found[column] = number(shape.noun(field.related_model), found[column])  # type: ignore[arg-type]
    return found


def _text(column: str) -> Renew:
    return lambda said, number: called(said[column], number)


def _texts(column: str) -> Renew:
    return lambda said, number: [called(one, number) for one in said[column]]


def _noun_id(said: Mapping[str, Any], number: Number) -> int | None:
    known = said["noun"] in shape.exported() and said["noun_id"] is not None
    return number(said["noun"], said["noun_id"]) if known else None


def _changed_row(said: Mapping[str, Any], number: Number) -> int:
    return number(said["model"], said["row"]) if said["model"] in shape.exported() else 0


def _snapshot(column: str) -> Renew:
    def renew(said: Mapping[str, Any], number: Number) -> dict[str, Any] | None:
        name, kept = said["model"], values.snapshot(said["model"], said[column])
        if not kept:
            return kept
        if "farm_id" in kept:
            kept["farm_id"] = number("farm", kept["farm_id"])
        return row(name, kept, number)

    return renew


def _types(said: Mapping[str, Any], number: Number) -> list[str]:
    return [plan_numbers.choice(one, number) for one in said["types"]]


def _problem(said: Mapping[str, Any], number: Number) -> dict[str, Any]:
    renewed = plan_numbers.renewed(said["problem"], number)
    return planning.from_json({name: each for name, each in renewed.items() if name != "digest"}).to_json()


def _solution(said: Mapping[str, Any], number: Number) -> dict[str, Any] | None:
    if said["solution"] is None:
        return None
    renewed = plan_numbers.renewed(said["solution"], number) | {"problem": _problem(said, number)["digest"]}
    return solutions.from_json({name: each for name, each in renewed.items() if name != "digest"}).to_json()


#: By noun and column: every text and JSON of a row that numbers other rows, and what renews it.
EMBEDDED: Mapping[str, Mapping[str, Renew]] = {
    "alert": {"key": _text("key")},
    "assignment": {"source": _text("source")},
    "change": {"row": _changed_row, "before": _snapshot("before"), "after": _snapshot("after")},
    "choremark": {"source": _text("source")},
    "historyentry": {"noun_id": _noun_id},
    "member": {"prefers": _texts("prefers"), "refuses": _texts("refuses")},
    "pin": {"source": _text("source")},
    "plan": {
        "changes": lambda said, number: [plan_numbers.renewed(one, number) for one in said["changes"]],
        "problem": _problem,
        "problem_digest": lambda said, number: _problem(said, number)["digest"],
        "solution": _solution,
        "stamps": lambda said, number: plan_numbers.stamps(said["stamps"], number),
    },
    "postponement": {"source": _text("source")},
    "settingproposal": {"content": lambda said, number: plan_numbers.proposal(said["content"], number)},
    "supplier": {"types": _types},
}
