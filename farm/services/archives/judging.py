"""What no column can know by itself: judged row by row, before anything is written."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any

from farm.planning import changes as tries
from farm.planning import repeats
from farm.planning.ordering import codec
from farm.queries import zone_names
from farm.services import programmes
from farm.trade import load, species
from farm.trade.reading import TableError

#: Birds are expected no later: plans are worked out up to the last of them. Project default (judgement).
FAR = timedelta(days=3 * 365)
_BILL = {"terms", "total", "shortfall", "birds_short"}
Row = Mapping[str, Any]


def judge(noun: str, row: Row, today: date) -> None:
    """Raise ValueError, TypeError or LookupError for a row that cannot be right. Its columns have been read."""
    if noun in _RULES:
        _RULES[noun](row)
    for column in _COMING.get(noun, ()):
        if row[column] is not None and row[column] > today + FAR:
            raise ValueError(f"{row[column]} is too far ahead")


def _farm(row: Row) -> None:
    if row["time_zone"] not in zone_names.known():
        raise ValueError(f"no time zone {row['time_zone']!r}")


def _version(row: Row) -> None:
    """Programmes are read once by digest for all farms: one that is not its content's would be another farm's too."""
    try:
        load.from_dict(row["content"])
    except TableError as refused:
        raise ValueError("a programme that cannot be followed") from refused
    if row["digest"] != programmes.digest(row["content"]):
        raise ValueError("a digest of something else")


def _species(row: Row) -> None:
    known = species.species()
    for one in row["species"]:
        known[one]


def _one_species(row: Row) -> None:
    species.species()[row["species"]]


def _types(row: Row) -> None:
    _texts(row["types"])


def _chore(row: Row) -> None:
    if row["repeat"]:
        repeats.parse(row["repeat"], row["start"])


def _proposal(row: Row) -> None:
    codec.from_json(row["content"])


def _plan(row: Row) -> None:
    for change in row["changes"]:
        tries.from_json(change)
    for bill in (row["before"], row["bill"]):
        if bill is not None and (not isinstance(bill, dict) or set(bill) != _BILL):
            raise ValueError("no bill of a plan")


def _alert(row: Row) -> None:
    if any(isinstance(one, list | dict) for one in row["values"].values()):
        raise ValueError("values that are no values")


def _weather(row: Row) -> None:
    for shape in (row["low_shape"], row["high_shape"]):
        for pair in shape or ():
            if not isinstance(pair, list) or not all(type(one) in (int, float) for one in pair):
                raise ValueError("no shape of a law")


def _change(row: Row) -> None:
    for said in (row["before"], row["after"]):
        if said is not None and not isinstance(said, dict):
            raise ValueError("no record")


def _texts(found: list[Any]) -> None:
    if not all(isinstance(one, str) for one in found):
        raise ValueError("no texts")


_RULES: Mapping[str, Callable[[Row], None]] = {
    "farm": _farm,
    "programmeversion": _version,
    "batch": _one_species,
    "eggset": _one_species,
    "intake": _one_species,
    "rearingprogramme": _one_species,
    "housing": _species,
    "machine": _species,
    "feed": _species,
    "supplier": _types,
    "ownchore": _chore,
    "settingproposal": _proposal,
    "plan": _plan,
    "alert": _alert,
    "weather": _weather,
    "change": _change,
}
_COMING: Mapping[str, tuple[str, ...]] = {
    "batch": ("hatch_day", "arrived_on", "leaves_on"),
    "eggset": ("set_on",),
    "intake": ("due_on",),
    "orderline": ("to_on",),
    "orderseries": ("last_on",),
}
