"""What the agenda reads (batches, stays, egg sets) and what it says (items)."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from farm.husbandry.going_out import DayAnswer, NightAnswer
from farm.husbandry.incubation import Air, Incubation, incubation
from farm.phrase import Phrase
from farm.trade.programme import Programme

ROUNDS = ("morning", "midday", "evening")
WATERFOWL = frozenset({"duck", "muscovy", "goose"})


@dataclass(frozen=True, slots=True)
class Outing:
    """What the farm's weather says of a batch going out: by day, and for the nights."""

    day: DayAnswer
    night: NightAnswer


@dataclass(frozen=True, slots=True)
class AgendaBatch:
    """A batch as the agenda sees it.

    key: stable, without "/". source: "own_hatch" or "intake". isolation_until: the first day bought-in
    birds may meet others; None takes the programme's isolation days after `arrived_on` when the batch is an
    intake. expected: how many birds of one that is not here yet; None once its hatch or arrival is recorded. out:
    None where the farm has no climate.
    """

    key: str
    name: str
    species: str
    hatch_day: date
    programme: Programme
    sex: str = "straight_run"
    isolation_until: date | None = None
    source: str = "own_hatch"
    arrived_on: date | None = None
    expected: int | None = None
    out: Outing | None = None


@dataclass(frozen=True, slots=True)
class AgendaStay:
    """Part of a batch in one housing over half-open days [start, end); `end` None is until further notice.

    birds: how many start the stay. rest_days: the housing's, in whole days after it is emptied, cleaning
    included.
    """

    key: str
    batch: str
    room: str
    room_name: str
    start: date
    end: date | None
    birds: int
    indoor: bool = True
    heated: bool = False
    rest_days: int = 14


@dataclass(frozen=True, slots=True)
class AgendaMachine:
    """A machine for eggs. air: "forced" or "still". turns_itself: nobody turns the eggs in it by hand."""

    key: str
    name: str
    air: Air = "forced"
    turns_itself: bool = False

    @property
    def room(self) -> str:
        """Return what stands in `Item.room`; no housing has such a key."""
        return f"machine:{self.key}"


@dataclass(frozen=True, slots=True)
class AgendaEggSet:
    """Eggs set in `setter`, which hatch in `hatcher` (the same machine for a set that stays in one).

    key: stable, without "/". batch: key of the batch expected of it, if any. ended_on: the day the hatch was
    recorded or the set was cancelled; what was due later is not asked any more.
    """

    key: str
    batch: str | None
    name: str
    species: str
    programme: Programme
    eggs: int
    setter: AgendaMachine
    hatcher: AgendaMachine
    set_on: date
    ended_on: date | None = None

    @property
    def days(self) -> Incubation:
        """Return the days of its incubation by its programme."""
        return incubation(self.programme, self.set_on)

    @property
    def batches(self) -> tuple[str, ...]:
        """Return its batch as `Item.batches` wants it."""
        return () if self.batch is None else (self.batch,)


@dataclass(frozen=True, slots=True)
class Item:
    """One dated step or chore; the occurrence is identified by its source and the day and round it was first due.

    source: stable id, for example "batch:7/heat_lower/14", "room:3/feed_water", "eggs:4/candle/7" or
    "machine:2/turn_eggs". room: key of a housing, or "machine:" and the key of a machine. job: key of the chore
    table. until: None for a one-day item, else the first day after its window. source_key: who says so.
    age_days: of the batch, or of the youngest in a housing's chore. minutes: whole minutes for all birds.
    who: the least experienced who may do it ("adult", "helper", "child"). people: hands needed at once.
    open_ended: it stays on the list after `until` too, until what it asks for is recorded. needs: what whoever
    does it must be able to do. care: birds or eggs suffer without it the same day. heated: heat equipment is on where
    it is done. asks: what is wanted with the tick: "", "note" or "photo". first: the day and round it was due before
    it was put off, None when it was not.
    """

    source: str
    kind: str
    job: str
    batch: str | None
    batches: tuple[str, ...]
    room: str | None
    room_name: str
    due: date
    until: date | None
    round: str
    title: Phrase
    why: Phrase
    source_key: str
    age_days: int | None
    minutes: int
    who: str
    cautions: tuple[str, ...] = ()
    checklist: tuple[Phrase, ...] = ()
    people: int = 1
    open_ended: bool = False
    needs: tuple[str, ...] = ()
    care: bool = False
    heated: bool = False
    asks: str = ""
    first: tuple[date, str] | None = None

    @property
    def occurrence(self) -> tuple[str, date, str]:
        """Return what identifies this occurrence whatever it is called, however long it takes or late it is done."""
        day, round_ = self.first or (self.due, self.round)
        return self.source, day, round_
