"""What a rearing programme looks like over the API: its curves, rules and feeds, each number with its source."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from ninja import Field, Schema

from api.core.shapes import In, Number, Text, absent
from farm.queries.programmes import Shown
from farm.trade import load
from farm.trade.programme import CURVES, OWN, RULES

#: How many rows a table may have; project default (judgement), several times what any built-in one has.
MOST_ROWS = 400

_CURVES = (
    "By name, each with rising days of age. "
    + "; ".join(f"`{name}` in {unit}, {law}" for name, (unit, law, _low, _high) in CURVES.items())
    + ". Step: the value holds from its day on. Smooth, linear: it is interpolated between days."
)
_RULES = "By name. " + "; ".join(f"`{name}` in {unit}" for name, (unit, _low, _high) in RULES.items()) + "."
_SOURCE = f"Key of a source; of your own numbers “{OWN}”."


class ProgrammeKnot(In):
    """The value of a curve at, or from, a day of age."""

    day: int = Field(ge=0, le=load.LAST_DAY, description="Whole days since hatch.")
    value: Number
    source: Text = Field(max_length=200, description=_SOURCE)


class ProgrammeRule(In):
    """A single number of a programme."""

    value: Number
    source: Text = Field(max_length=200, description=_SOURCE)


class FeedPhase(In):
    """A feed eaten from a day of age until the next one."""

    day: int = Field(ge=0, le=load.LAST_DAY)
    feed: Text = Field(max_length=200)
    protein_g_per_kg: Number
    source: Text = Field(max_length=200, description=_SOURCE)


class ProgrammeVersionOut(Schema):
    """One version of a programme; it never changes."""

    id: int = Field(description="What a batch names as `programme_version_id`.")
    number: int
    note: str = Field(description="What changed.")
    created_at: datetime


class ProgrammeListed(Schema):
    """A programme that batches can follow."""

    key: str = Field(description="Of a built-in one its word, of the farm's own its number.")
    name: str
    species: str
    type: str
    own: bool = Field(description="A copy that a keeper may edit.")
    number: int = Field(description="Of its newest version; 0: a built-in one that no batch ever followed.")
    batches: int = Field(description="That follow it and have birds.")


class ProgrammeOut(Schema):
    """A rearing programme in one version. Values are SI; days are days of age, hatch day 0."""

    key: str
    name: str
    species: str
    type: str
    own: bool
    number: int = Field(description="Of the version shown; 0: the tables as shipped.")
    versions: list[ProgrammeVersionOut] = Field(description="Newest first.")
    curves: dict[str, list[ProgrammeKnot]] = Field(description=_CURVES)
    rules: dict[str, ProgrammeRule] = Field(description=_RULES)
    feeds: list[FeedPhase]
    jobs: list[str] = Field(description="Keys of the chores that apply.")


Name = Annotated[Text, Field(max_length=40)]


class ProgrammeChange(In):
    """Tables to be different, each whole; what is left out stays."""

    curves: dict[Name, Annotated[list[ProgrammeKnot], Field(max_length=MOST_ROWS)]] = absent(
        max_length=40, description=_CURVES
    )
    rules: dict[Name, ProgrammeRule] = absent(max_length=40, description=_RULES)
    feeds: list[FeedPhase] = absent(max_length=MOST_ROWS)
    jobs: list[Name] = absent(max_length=200)
    note: Text = absent(max_length=200, description="What changed, for those who look at it later.")


class NewProgrammeCopy(In):
    """The name of a copy."""

    name: Text = Field(max_length=80)


def shape(shown: Shown) -> dict[str, Any]:
    """Return a programme as the API shows it."""
    one = shown.programme
    name = shown.row.name if shown.row is not None and shown.own else one.name
    return load.to_dict(one) | {
        "key": shown.key,
        "name": name,
        "own": shown.own,
        "number": shown.version.number if shown.version else 0,
        "versions": [
            {name: getattr(version, name) for name in ProgrammeVersionOut.model_fields}
            for version in shown.versions
        ],
    }
