"""One line of the day: a chore or step as a page shows it to one member."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from farm import wording
from farm.models import ChoreMark, Member
from farm.models.chore_mark import MarkState
from farm.models.member import Role
from farm.phrase import Phrase
from farm.planning.agenda import Item
from farm.queries.agenda import Due
from farm.services import chores
from farm.trade import cautions
from farm.trade.cautions import Caution
from farm.web.help.pieces import Cited, cited

_EGG_STEP = re.compile(r"eggs:(\d+)/(candle|hatch)(/|$)")
_HAND_OVER = re.compile(r"line:(\d+)/hand_over(/|$)")


def name_in_page(text: str) -> str:
    """Return a name that an address, a selector and htmx all take."""
    return re.sub(r"[^0-9a-z]+", "-", text.lower())


@dataclass(frozen=True, slots=True)
class Line:
    """An occurrence with its mark. `item` None: the agenda no longer has it, only its mark is left.

    may: the member looking may tick it. error: why the last try was refused, "" when it was not.
    """

    source: str
    due: date
    round: str
    title: str
    item: Item | None
    mark: ChoreMark | None
    may: bool
    error: str = ""

    @property
    def key(self) -> str:
        """Return an id for the page, the same whatever the line is called."""
        return name_in_page(f"{self.round}-{self.due:%Y%m%d}-{self.source}")

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


def of_due(due: Due, member: Member, units: str, error: str = "") -> Line:
    """Return the line of an occurrence as `member` sees it."""
    item = due.item
    return Line(
        source=item.source,
        due=item.due,
        round=item.round,
        title=wording.say(item.title, units),
        item=item,
        mark=due.mark,
        may=may_tick(member, item.source),
        error=error,
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
