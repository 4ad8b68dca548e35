"""What a housing full of birds asks for every day: which chores, in which rounds, how often."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from farm.planning.agenda import heat
from farm.planning.agenda.ages import knot_at, rule
from farm.planning.agenda.building import wanted
from farm.planning.agenda.records import AgendaBatch
from farm.trade.chores import Chore
from farm.trade.general import figure
from farm.trade.programme import Programme

Members = tuple[tuple[AgendaBatch, int], ...]


@dataclass(frozen=True, slots=True)
class Crowd:
    """The batches and birds in one housing on `day`; `since` is the day it was last filled from empty."""

    room: str
    name: str
    indoor: bool
    heated: bool
    since: date
    day: date
    members: Members

    def age(self, batch: AgendaBatch) -> int:
        """Return a member's age in days."""
        return (self.day - batch.hatch_day).days

    @property
    def youngest(self) -> int:
        """Return the age in days of the youngest member."""
        return min(self.age(batch) for batch, _ in self.members)

    @property
    def warmed(self) -> Members:
        """Return the members that still need heat, none where there is none."""
        if not self.heated:
            return ()
        return tuple((b, n) for b, n in self.members if heat.needed(b.programme, self.age(b)))


@dataclass(frozen=True, slots=True)
class Duty:
    """One chore for some members every `every` days from `Crowd.since`; no rounds means the table's."""

    job: str
    members: Members
    every: int = 1
    rounds: tuple[str, ...] = ()


def turning_days(programme: Programme, table: Mapping[str, Chore]) -> set[int]:
    """Return the days of age at which `duties` may answer differently."""
    days = {knot.day for knot in programme.curves.get("bedding_every_days", ())}
    days |= {day for name in ("day_out_day", "cloth_off_day") if (day := rule(programme, name)) is not None}
    for chore in table.values():
        days |= {day for day in (chore.first_day, chore.last_day, chore.early_until_day) if day is not None}
    last = heat.last_heated_day(programme)
    return days if last is None else days | {last + 1}


def duties(crowd: Crowd, table: Mapping[str, Chore]) -> Iterator[Duty]:
    """Yield the crowd's routine chores of the day.

    Left out are a chore no member's programme wants, and those that wait for eggs, lay or bird-flu care.
    """
    for chore in table.values():
        if chore.kind == "routine" and (duty := _duty(chore, crowd)) is not None:
            members = tuple((b, n) for b, n in duty.members if wanted(b, chore.key))
            if members:
                yield replace(duty, members=members)


def _duty(chore: Chore, crowd: Crowd) -> Duty | None:
    every = chore.every_days or 1
    if chore.condition == "bedding":
        return _bedding(chore, crowd)
    if chore.condition == "heated":
        return Duty(chore.key, crowd.warmed, every)
    if chore.condition == "outdoors":
        old_enough = all(crowd.age(b) >= (rule(b.programme, "day_out_day") or 0) for b, _ in crowd.members)
        return Duty(chore.key, crowd.members, every) if old_enough and not crowd.indoor else None
    if chore.condition:
        return None
    of_age = tuple((b, n) for b, n in crowd.members if _of_age(chore, crowd.age(b)))
    early = chore.early_until_day is not None and crowd.youngest < chore.early_until_day
    return Duty(chore.key, of_age, every, chore.early_rounds if early else ())


def _of_age(chore: Chore, age: int) -> bool:
    return age >= (chore.first_day or 0) and (chore.last_day is None or age < chore.last_day)


def _bedding(chore: Chore, crowd: Crowd) -> Duty | None:
    """Return bedding at the shortest interval a member asks for; in pens never oftener than weekly."""
    if not all(_off_cloth(chore, crowd, batch) for batch, _ in crowd.members):
        return None
    asked = min(_bedding_every(crowd, batch) for batch, _ in crowd.members)
    if not (crowd.indoor and crowd.heated):
        return Duty(chore.key, crowd.members, max(int(figure("bedding", "pen_every_days")), int(asked)))
    return Duty(chore.key, crowd.members, max(1, int(asked)), ("morning", "evening") if asked < 1 else ())


def _off_cloth(chore: Chore, crowd: Crowd, batch: AgendaBatch) -> bool:
    day = rule(batch.programme, "cloth_off_day")
    return crowd.age(batch) >= ((chore.first_day or 0) if day is None else day)


def _bedding_every(crowd: Crowd, batch: AgendaBatch) -> float:
    knots = batch.programme.curves.get("bedding_every_days", ())
    return knot_at(knots, crowd.age(batch)).value if knots else figure("bedding", "pen_every_days")
