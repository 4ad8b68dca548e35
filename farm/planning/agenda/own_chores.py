"""The keeper's own chores: what no table knows, once or by a rule that repeats.

One that birds suffer without and that repeats is a chore of its day, as feeding is: what was missed yesterday is done
today anyway. Every other stays on the list when it was missed, until it is done or its next day takes over.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass
from datetime import date

from farm.phrase import N_, Phrase
from farm.planning import repeats
from farm.planning.agenda.records import Item
from farm.planning.repeats import Repeat
from farm.planning.window import Window
from farm.trade.chores import ADULTS_ONLY, WHO
from farm.trade.programme import OWN

#: The cautions that go with what a chore needs.
CAUTIONS = {"heat": ("heat_lamp", "cord"), "dosing": ("drugs",), "slaughter": ("slaughter",)}


@dataclass(frozen=True, slots=True)
class AgendaOwnChore:
    """One own chore.

    key: stable, without "/". start: its day, or the one from which `repeat` counts. exceptions: days of the rule on
    which it is left out. round: of ROUNDS. room: key of a housing, or "machine:" and the key of a machine; None for
    none. room_name: the place, also where it is neither. minutes: whole ones. who, needs: as in the chore table.
    people: hands needed at once. care: birds or eggs suffer without it the same day. asks: what is wanted with the
    tick: "", "note" or "photo". begun_on: nothing of it is asked before, wherever its rule counts from. ended_on: the
    first day on which nothing of it is asked any more.
    """

    key: str
    title: str
    start: date
    repeat: Repeat | None = None
    exceptions: frozenset[date] = frozenset()
    round: str = "morning"
    room: str | None = None
    room_name: str = ""
    minutes: int = 10
    who: str = "helper"
    needs: tuple[str, ...] = ()
    people: int = 1
    checklist: tuple[str, ...] = ()
    care: bool = False
    asks: str = ""
    begun_on: date | None = None
    ended_on: date | None = None

    @property
    def routine(self) -> bool:
        """Say whether what was missed is not carried over to the next day."""
        return self.care and self.repeat is not None

    def asked_on(self, day: date) -> bool:
        """Say whether a day lies between its beginning and its end."""
        begun = self.begun_on is None or self.begun_on <= day
        return begun and (self.ended_on is None or day < self.ended_on)


def steps(own: Sequence[AgendaOwnChore], window: Window) -> Iterator[Item]:
    """Yield those due in the window that stay on the list when they were missed."""
    return (item for chore in own if not chore.routine for item in _items(chore, window))


def routine(own: Sequence[AgendaOwnChore], window: Window) -> Iterator[Item]:
    """Yield those due in the window that are of their day alone."""
    return (item for chore in own if chore.routine for item in _items(chore, window))


def still_open(own: Sequence[AgendaOwnChore], day: date) -> Iterator[Item]:
    """Yield the latest item of each before `day` that would still be on the list on it, however long ago it was due."""
    for chore in own:
        due = None if chore.routine else _latest(chore, day)
        if due is None or not chore.asked_on(due) or (chore.ended_on is not None and chore.ended_on <= day):
            continue
        item = _Build(chore).item(due)
        if item.until is None or day < item.until:
            yield item


def _items(chore: AgendaOwnChore, window: Window) -> Iterator[Item]:
    if chore.repeat is not None:
        dues = repeats.days(chore.repeat, chore.start, window, chore.exceptions)
    else:
        dues = (chore.start,) if window.start <= chore.start < window.end else ()
    build = _Build(chore)
    for due in dues:
        if chore.asked_on(due):
            yield build.item(due)


def _latest(chore: AgendaOwnChore, day: date) -> date | None:
    if chore.repeat is not None:
        return repeats.last_day(chore.repeat, chore.start, day, chore.exceptions)
    return chore.start if chore.start < day else None


class _Build:
    """Makes the items of one chore; what is the same on all its days is made once."""

    def __init__(self, chore: AgendaOwnChore) -> None:
        self.chore = chore
        if chore.room_name:
            self.title = Phrase(N_("%(room)s: %(chore)s"), {"room": chore.room_name, "chore": chore.title})
        else:  # a keeper's words are values: they are never looked up in a catalogue
            self.title = Phrase(N_("%(chore)s"), {"chore": chore.title})
        self.why = (
            Phrase(N_("Your own chore"))
            if chore.repeat is None
            else Phrase(N_("Your own chore, %(repeat)s"), {"repeat": repeats.in_words(chore.repeat)})
        )
        self.who = least(chore.who, frozenset(chore.needs))
        self.cautions = cautions(chore.room, self.who, chore.needs)
        self.checklist = tuple(Phrase(N_("%(line)s"), {"line": line}) for line in chore.checklist)

    def item(self, due: date) -> Item:
        """Return the item of one day."""
        chore = self.chore
        until = self._until(due)
        return Item(
            source=f"own:{chore.key}/own_chore",
            kind="chore" if chore.routine else "step",
            job=f"own:{chore.key}",
            batch=None,
            batches=(),
            room=chore.room,
            room_name=chore.room_name,
            due=due,
            until=until,
            round=chore.round,
            title=self.title,
            why=self.why,
            source_key=OWN,
            age_days=None,
            minutes=chore.minutes,
            who=self.who,
            cautions=self.cautions,
            checklist=self.checklist,
            people=chore.people,
            open_ended=until is None and not chore.routine,
            needs=chore.needs,
            care=chore.care,
            heated="heat" in chore.needs,
            asks=chore.asks,
        )

    def _until(self, due: date) -> date | None:
        """Return the day on which the next one, or the chore's end, takes over; None when neither does."""
        chore = self.chore
        if chore.routine:
            return None
        following = (
            None
            if chore.repeat is None
            else repeats.next_day(chore.repeat, chore.start, due, chore.exceptions)
        )
        return min((day for day in (following, chore.ended_on) if day is not None), default=None)


def least(who: str, needs: Set[str]) -> str:
    """Return the least experienced who may do work with such needs, whatever was typed: heat and slaughter are for
    adults alone, and a child gives no medicine."""
    if needs & ADULTS_ONLY:
        return WHO[0]
    return "helper" if who == "child" and "dosing" in needs else who


def cautions(room: str | None, who: str, needs: Sequence[str]) -> tuple[str, ...]:
    """Return the cautions that go with a chore: for what it needs, for children, and clean hands where birds or eggs
    are."""
    found = [caution for need in needs for caution in CAUTIONS.get(need, ())]
    found += ["hygiene"] if room is not None else []
    found += ["children"] if who == "child" else []
    return tuple(dict.fromkeys(found))
