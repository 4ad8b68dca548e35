"""The work a batch asks for: steps dated by its age, and chores that repeat."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from farm.phrase import N_
from farm.trade.cautions import cautions
from farm.trade.programme import JUDGEMENT, SPECIES
from farm.trade.reading import Problem, Reader, TableError, read
from farm.trade.sources import take_source

ROUNDS = ("morning", "midday", "evening")
WHO = ("adult", "helper", "child")
#: What not everybody may or can do. Lifting: heavy bags, crates and litter. Dosing: medicine and feed that holds some.
ABILITIES = ("heat", "lifting", "water", "dosing", "slaughter")
#: What no helper and no child may be asked for.
ADULTS_ONLY = frozenset({"heat", "slaughter"})
#: What besides age a chore waits for; "" is nothing. `farm.planning` knows when each is so.
CONDITIONS = (
    *("", "heated", "bedding", "not_complete_feed", "feed", "outdoors", "plan", "emptied"),
    *("bird_flu_care", "eggs", "lay", "processing", "stock", "orders", "light"),
)
#: file of the tables -> kind of the chores in it.
KINDS: Mapping[str, str] = MappingProxyType(
    {"chores.toml": "routine", "steps_rearing.toml": "step", "steps_housing.toml": "step"}
)


@dataclass(frozen=True, slots=True)
class Chore:
    """One kind of work.

    kind: `routine` repeats, `step` is dated by age or event. rounds: half-days it falls in; early_rounds
    instead before day early_until_day of age. minutes + minutes_per_50 for each 50 birds (minutes_source says
    why). who: the least role that may do it, `child` only beside an adult. hot: hot work, adults only. needs: of
    ABILITIES, what whoever does it must be able to do; hot work needs heat. care: birds or eggs suffer without it the
    same day. days: exact days of age, species_days instead for a species. rule: the programme rule that names the day.
    first_day, last_day (half-open), every_days: cadence by age. before_arrival_days: days before the birds
    come. condition: one of CONDITIONS. source: of the cadence.
    """

    key: str
    title: str
    kind: str
    when: str
    rounds: tuple[str, ...]
    minutes: float
    minutes_per_50: float
    who: str
    hot: bool
    needs: tuple[str, ...]
    care: bool
    checklist: tuple[str, ...]
    cautions: tuple[str, ...]
    why: str
    source: str
    minutes_source: str
    days: tuple[int, ...]
    species_days: Mapping[str, int]
    rule: str
    first_day: int | None
    last_day: int | None
    every_days: int | None
    before_arrival_days: int | None
    early_rounds: tuple[str, ...]
    early_until_day: int | None
    condition: str


@cache
def chores() -> Mapping[str, Chore]:
    """Return every chore of the built-in tables by its key, read once."""
    return from_tables({file: read(file) for file in KINDS})


def from_tables(tables: Mapping[str, Mapping[str, Any]]) -> Mapping[str, Chore]:
    """Return the chores of several tables by key.

    tables: by file name, of KINDS. Raises TableError with every problem, naming file, chore and field.
    """
    problems: list[Problem] = []
    found = {
        key: _chore(key, KINDS[file], Reader(row, f"{file}: {key}", problems))
        for file, rows in tables.items()
        for key, row in rows.items()
    }
    if problems:
        raise TableError(problems)
    return MappingProxyType(found)


def _chore(key: str, kind: str, row: Reader) -> Chore:
    per_bird = row.number("minutes_per_bird", 0, 60) if "minutes_per_bird" in row.row else 0.0
    hot = bool(row.take("hot", False))
    needs = {*row.texts("needs", ABILITIES), *(("heat",) if hot else ())}
    chore = Chore(
        key=key,
        title=row.text("title"),
        kind=kind,
        when=row.text("when"),
        rounds=row.texts("rounds", ROUNDS),
        minutes=row.number("minutes", 0, 600),
        minutes_per_50=row.number("minutes_per_50", 0, 240) + 50 * per_bird,
        who=row.text("who"),
        hot=hot,
        needs=tuple(ability for ability in ABILITIES if ability in needs),
        care=bool(row.take("care", False)),
        checklist=row.texts("checklist"),
        cautions=row.texts("cautions", cautions()),
        why=row.text("why"),
        source=take_source(row),
        minutes_source=JUDGEMENT,
        days=tuple(row.take("days", ())),
        species_days=MappingProxyType(dict(row.take("species_days", {}))),
        rule=row.text("rule", default=""),
        first_day=row.optional_whole("first_day", 0, 400),
        last_day=row.optional_whole("last_day", 1, 400),
        every_days=row.optional_whole("every_days", 1, 365),
        before_arrival_days=row.optional_whole("before_arrival_days", 0, 30),
        early_rounds=row.texts("early_rounds", ROUNDS),
        early_until_day=row.optional_whole("early_until_day", 1, 400),
        condition=row.text("condition", default=""),
    )
    _check(chore, row)
    row.done()
    return chore


def _check(chore: Chore, row: Reader) -> None:
    if chore.who not in WHO:
        row.wrong("who", N_("%(who)s is not a known role"), who=chore.who)
    if chore.condition not in CONDITIONS:
        row.wrong("condition", N_("%(condition)s is not a known condition"), condition=chore.condition)
    if not set(chore.species_days) <= set(SPECIES):
        row.wrong("species_days", N_("names a species that is not known"))
    if chore.hot and chore.who != "adult":
        row.wrong("who", N_("hot work is for adults only"))
    if chore.who != "adult" and not chore.hot and ADULTS_ONLY & set(chore.needs):
        row.wrong("who", N_("heat and slaughter are for adults only"))
    if chore.who == "child" and "dosing" in chore.needs:
        row.wrong("who", N_("a child gives no medicine"))
    if chore.who == "child" and "children" not in chore.cautions:
        row.wrong("cautions", N_("a child's chore needs the caution for children"))
