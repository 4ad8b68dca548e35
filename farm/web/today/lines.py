"""One line of the day: a chore or step as a page shows it to one member."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from farm import wording
from farm.models import ChoreMark, Member, Postponement
from farm.models.chore_mark import MarkState, Round
from farm.models.member import Role
from farm.models.own_chore import Who
from farm.phrase import Phrase
from farm.planning.agenda import Item
from farm.planning.rota.records import Key
from farm.queries.agenda import Due
from farm.services import chores
from farm.trade import cautions
from farm.trade.cautions import Caution
from farm.web.help.pieces import Cited, cited
from farm.web.today.later import Later

_EGG_STEP = re.compile(r"eggs:(\d+)/(candle|hatch)(/|$)")
_OWN = "own:"  # how the agenda begins the source of a keeper's own chore
_HAND_OVER = re.compile(r"line:(\d+)/hand_over(/|$)")


def name_in_page(text: str) -> str:
    """Return a name that an address, a selector and htmx all take."""
    return re.sub(r"[^0-9a-z]+", "-", text.lower())


@dataclass(frozen=True, slots=True)
class Line:
    """An occurrence with its mark. `item` None: the agenda no longer has it, only its mark is left.

    due, round: when it is to be done now. may: the member looking may tick it. error: why the last try was refused, ""
    when it was not. doers: who does it by the rota, "" where there is none. put_off: who put it off and why, None when
    nobody did. later: until when it can be put off, None when it can't. photo: the number of its picture, None without.
    """

    source: str
    due: date
    round: str
    title: str
    item: Item | None
    mark: ChoreMark | None
    may: bool
    error: str = ""
    doers: str = ""
    put_off: Postponement | None = None
    later: Later | None = None
    photo: int | None = None

    @property
    def occurrence(self) -> Key:
        """Return what identifies it: its source, and the day and round it was first due."""
        return self.item.occurrence if self.item else (self.source, self.due, self.round)

    @property
    def key(self) -> str:
        """Return an id for the page, the same whatever the line is called and whenever it is done."""
        source, due, round = self.occurrence
        return name_in_page(f"{round}-{due:%Y%m%d}-{source}")

    @property
    def asks(self) -> str:
        """Return what is asked for with its tick, "" once it is marked."""
        return self.item.asks if self.item and self.mark is None else ""

    @property
    def first_round(self) -> str:
        """Return the name of the round it was first due in."""
        return str(Round(self.occurrence[2]).label)

    @property
    def round_name(self) -> str:
        """Return the name of the round it is to be done in now."""
        return str(Round(self.round).label)

    @property
    def short(self) -> str:
        """Return its title under the name of its housing, which it need not say again."""
        own = self.title.removeprefix(f"{self.item.room_name}: ") if self.item else self.title
        return own[:1].upper() + own[1:]

    @property
    def egg_page(self) -> tuple[str, str] | None:
        """Return the address and number of the egg set where a candling or hatch is written down; None for others."""
        found = _EGG_STEP.match(self.source)
        return (f"egg-set-{found[2]}", found[1]) if found and self.item else None

    @property
    def order_line(self) -> str | None:
        """Return the number of the order's line whose birds are to be handed over; None for other steps."""
        found = _HAND_OVER.match(self.source)
        return found[1] if found and self.item else None

    @property
    def done(self) -> bool:
        """Say whether it is ticked as done."""
        return self.mark is not None and self.mark.state == MarkState.DONE

    @property
    def minutes(self) -> int:
        """Return its minutes; 0 for what takes none."""
        return self.item.minutes if self.item else 0

    @property
    def last_day(self) -> date | None:
        """Return the last day of its window, None for a one-day line."""
        return self.item.until - timedelta(days=1) if self.item and self.item.until else None

    @property
    def why(self) -> Phrase | None:
        """Return why it is due."""
        return self.item.why if self.item else None

    @property
    def checklist(self) -> Sequence[Phrase]:
        """Return what belongs to it."""
        return self.item.checklist if self.item else ()

    @property
    def cited(self) -> list[Cited]:
        """Return who says that it is due."""
        return cited(self.item.source_key) if self.item and self.item.source_key else []

    @property
    def cautions(self) -> list[Caution]:
        """Return its warnings."""
        return [cautions.cautions()[key] for key in self.item.cautions] if self.item else []


def may_tick(member: Member, source: str) -> bool:
    """Say whether the member may tick an occurrence of `source`."""
    return member.role != Role.CHILD or chores.least_role(source, member.farm_id) == Role.CHILD


def _may(member: Member, item: Item) -> bool:
    """Say the same of an item; the keeper's own chores say it themselves, so that none is looked up."""
    if member.role == Role.CHILD and item.source.startswith(_OWN):
        return item.who == Who.CHILD
    return may_tick(member, item.source)


def of_due(due: Due, member: Member, units: str, error: str = "", **more: Any) -> Line:
    """Return the line of an occurrence as `member` sees it. more: what else the line knows."""
    item = due.item
    return Line(
        source=item.source,
        due=item.due,
        round=item.round,
        title=wording.say(item.title, units),
        item=item,
        mark=due.mark,
        may=_may(member, item),
        error=error,
        **more,
    )


def of_mark(mark: ChoreMark, member: Member) -> Line:
    """Return the line of a mark whose chore the agenda no longer has."""
    return Line(
        source=mark.source,
        due=mark.due,
        round=mark.round,
        title=mark.title,
        item=None,
        mark=mark,
        may=may_tick(member, mark.source),
    )
