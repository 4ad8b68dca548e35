"""Egg sets, what candling showed, and what may still hatch, as the API shows them."""

from __future__ import annotations

from datetime import datetime
from typing import Any, Literal

from ninja import Field, Schema

from api.core.shapes import Day
from api.order_shapes import choice
from farm.models import EggEntry
from farm.models.egg_set import EggKind, EggSetState
from farm.queries.hatching import SetRow
from farm.wording import say


class EggSetOut(Schema):
    """Eggs put into a machine on one day. Its days follow from the programme it was set with."""

    id: int
    version: int
    name: str
    programme: str
    species: str
    type: str
    breed: str
    eggs: int
    stored_days: int = Field(description="Age of the oldest egg when set.")
    storage: str
    origin: str
    setter_id: int
    setter: str
    hatcher_id: int
    hatcher: str
    set_at: datetime
    set_on: Day = Field(description="Day 0 of incubation.")
    state: EggSetState
    stage: Literal["planned", "turned", "hatching", "overdue", "hatched", "cancelled"]
    hatched_on: Day | None
    batch_id: int | None = Field(description="The birds expected of it, then hatched; null when nothing did.")
    notes: str
    candlings: list[Day] = Field(description="The last one is on lockdown.")
    turn_from: Day
    lockdown: Day = Field(description="Turning ends; eggs go to the hatcher.")
    hatch_first: Day = Field(description="No hatch can be recorded before.")
    hatch_day: Day
    hatch_last: Day
    out_latest: Day = Field(description="The last day on which the machine is emptied.")
    results: dict[str, int] = Field(
        description="Eggs by what was found of them; culled are among the hatched."
    )
    left: int = Field(description="Eggs of which nothing is recorded yet.")
    expected_chicks: float | None = Field(description="In the mean; null of one that is over.")
    low_chicks: int | None = Field(description="8 hatches in 10 lie between this …")
    high_chicks: int | None = Field(description="… and this.")
    warnings: list[str]
    conflicts: list[str] = Field(description="What clashes in the machines.")


class EggEntryOut(Schema):
    """One line of what candling or the hatch showed."""

    id: int
    kind: EggKind
    eggs: int
    day: Day
    member_id: int | None
    member: str


def egg_set(row: SetRow, units: str) -> dict[str, Any]:
    """Return an egg set."""
    one, dates = row.egg_set, row.dates
    own = ("id", "version", "name", "species", "type", "breed", "eggs", "stored_days", "storage", "origin")
    more = ("setter_id", "hatcher_id", "set_at", "set_on", "state", "hatched_on", "batch_id", "notes")
    days = ("turn_from", "lockdown", "hatch_first", "hatch_day", "hatch_last", "out_latest")
    is_open = one.state == EggSetState.OPEN
    return {
        **{name: getattr(one, name) for name in (*own, *more)},
        **{name: getattr(dates, name) for name in days},
        "programme": choice(one.programme_version.programme),
        "setter": one.setter.name,
        "hatcher": one.hatcher.name,
        "stage": row.state,
        "candlings": list(dates.candlings),
        "results": dict(row.results),
        "left": row.left,
        "expected_chicks": round(row.expected, 2) if is_open else None,
        "low_chicks": row.low if is_open else None,
        "high_chicks": row.high if is_open else None,
        "warnings": [say(each, units) for each in row.warnings],
        "conflicts": [say(each.sentence(), units) for each in row.conflicts],
    }


def entry(row: EggEntry) -> dict[str, Any]:
    """Return a line, its member read along."""
    own = ("id", "kind", "eggs", "day", "member_id")
    return {name: getattr(row, name) for name in own} | {"member": str(row.member or "")}
