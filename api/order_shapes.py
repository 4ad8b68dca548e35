"""Orders, their lines and the birds handed over, as programs send and read them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from enum import IntEnum
from typing import Annotated, Any

from ninja import Field, Schema
from pydantic import model_validator

from api.core.shapes import Day, Id, In, Text
from farm.errors import BadInput
from farm.models import Filling, RearingProgramme
from farm.models.order import OrderStatus, Priority, WantedSex, Wants
from farm.planning.allotments import LineOdds
from farm.queries.orders import LineRow, OrderRow
from farm.services.order_fields import MOST_LINES, NewLine
from farm.wording import say

Birds = Annotated[int, Field(ge=1, le=5000)]
Age = Annotated[int, Field(ge=0, le=400)]
Programme = Annotated[
    Text,
    Field(
        max_length=40,
        description="Key of a built-in programme, or the number of one of the farm's: the type.",
    ),
]


class Rank(IntEnum):
    """Who gets birds first when there are too few."""

    FIRST, USUAL, LAST = Priority.FIRST, Priority.USUAL, Priority.LAST


class Odds(Schema):
    """How sure a line is. allotted + short is what is still ordered."""

    chance: float = Field(description="That all birds come, 0 to 1.")
    expected_birds: float
    low_birds: int = Field(description="In 8 cases of 10 it gets from so many …")
    high_birds: int = Field(description="… to so many.")
    allotted: int
    short: int = Field(description="Birds that no batch can give.")


class MeantOut(Schema):
    """Birds of a batch meant for a line. Worked out anew with every change; nothing is reserved."""

    batch_id: int
    batch: str
    birds: int
    day: Day = Field(description="To be handed over from this day on.")


class HandOverOut(Schema):
    """Birds of a batch given to a line."""

    id: int
    line_id: int
    batch_id: int
    batch: str
    birds: int
    day: Day
    member_id: int | None
    member: str


class LineOut(Schema):
    """One line: how many birds of which type and age, and from when to when."""

    id: int
    programme: str
    type: str = Field(description="The programme's name.")
    breed: str
    sex: WantedSex
    birds: int
    age_from_days: int
    age_to_days: int
    from_on: Day
    to_on: Day = Field(description="The last day to hand them over.")
    given: int
    left: int = Field(description="Still promised.")
    overdue: bool
    warning: str = Field(description="Why it can't be met as things stand; empty when it can.")
    odds: Odds | None = Field(description="Null where no birds are wanted any more, and in lists for quotes.")
    meant: list[MeantOut]
    hand_overs: list[HandOverOut]


class OrderOut(Schema):
    """Birds promised to a customer."""

    id: int
    version: int
    customer: str
    status: OrderStatus
    priority: int = Field(description="1 first, 2 usual, 3 if any are left.")
    deposit: str
    notes: str
    ordered_on: Day
    series_id: int | None
    series_on: Day | None
    alone: bool = Field(
        description="Of a series, but changed by itself since: the series no longer rewrites it."
    )
    first_on: Day = Field(description="The first day of what is still promised, else of the order.")
    left: int
    chance: float | None = Field(description="Of the line least sure.")
    lines: list[LineOut]


class LineIn(In):
    """One line as it is to be."""

    id: Id | None = Field(None, description="Of the line it changes; a new one, when left out.")
    programme: Programme
    birds: Birds
    from_on: Day
    to_on: Day
    age_from_days: Age = 0
    age_to_days: Age
    sex: WantedSex = WantedSex.ANY
    breed: Text = Field("", max_length=60)

    @model_validator(mode="after")
    def _in_order(self) -> LineIn:
        if self.age_to_days < self.age_from_days:
            raise ValueError("The oldest age must not be below the youngest.")
        if self.to_on < self.from_on:
            raise ValueError("The last day must not be before the first.")
        return self


Lines = Annotated[list[LineIn], Field(min_length=1, max_length=MOST_LINES)]


def typed(lines: Sequence[LineIn]) -> list[NewLine]:
    """Return lines as the service takes them."""
    return [NewLine(line_id=line.id, **line.dict(exclude={"id"})) for line in lines]


@contextmanager
def at_lines() -> Iterator[None]:
    """Say what a line is refused for at its place: "lines-0-birds" is `lines/0/birds` here."""
    try:
        yield
    except BadInput as refused:
        raise BadInput({_place(name): texts for name, texts in refused.fields.items()}) from refused


def _place(name: str) -> str:
    return name.replace("-", "/", 2) if name.startswith("lines-") else name


def choice(programme: RearingProgramme) -> str:
    """Return what names a type when one is chosen: a built-in key, or the number of the farm's own."""
    return str(programme.pk) if programme.edited else programme.built_in


def wants(row: Wants) -> dict[str, Any]:
    """Return what a line or series wants."""
    own = ("breed", "sex", "birds", "age_from_days", "age_to_days")
    return {name: getattr(row, name) for name in own} | {
        "programme": choice(row.programme),
        "type": row.programme.name,
    }


def order(row: OrderRow, units: str) -> dict[str, Any]:
    """Return an order."""
    own = ("id", "version", "customer", "status", "priority", "deposit", "notes", "ordered_on", "series_id")
    found = {name: getattr(row.order, name) for name in (*own, "series_on", "alone")}
    return found | {
        "first_on": row.first_on,
        "left": row.left,
        "chance": row.chance,
        "lines": [_line(line, units) for line in row.lines],
    }


def hand_over(row: Filling) -> dict[str, Any]:
    """Return a hand-over, its batch and member read along."""
    own = ("id", "line_id", "batch_id", "birds", "day", "member_id")
    return {name: getattr(row, name) for name in own} | {
        "batch": row.batch.name,
        "member": str(row.member or ""),
    }


def _line(row: LineRow, units: str) -> dict[str, Any]:
    line = row.line
    return wants(line) | {
        "id": line.pk,
        "from_on": line.from_on,
        "to_on": line.to_on,
        "given": row.given,
        "left": row.left,
        "overdue": row.overdue,
        "warning": "" if row.warning is None else say(row.warning, units),
        "odds": None if row.odds is None else _odds(row.odds),
        "meant": [
            {"batch_id": one.batch.pk, "batch": one.batch.name, "birds": one.birds, "day": one.day}
            for one in row.meant
        ],
        "hand_overs": [hand_over(one) for one in row.fillings],
    }


def _odds(odds: LineOdds) -> dict[str, Any]:
    return {
        "chance": odds.chance,
        "expected_birds": odds.expected,
        "low_birds": odds.low,
        "high_birds": odds.high,
        "allotted": odds.allotted,
        "short": odds.short,
    }
