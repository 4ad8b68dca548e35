"""The day's lines by round, and which round it is now."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from django.utils import timezone

from farm.models import Farm, Member
from farm.models.chore_mark import Round as RoundName
from farm.queries import agenda
from farm.web.today import lines, telling
from farm.web.today.groups import Group, by_place
from farm.web.today.lines import Line


@dataclass(frozen=True, slots=True)
class Round:
    """A half-day's lines. current: it is now. opened: its lines are shown without being asked for."""

    key: str
    label: str
    lines: Sequence[Line]
    current: bool
    opened: bool

    @property
    def left(self) -> list[Line]:
        """Return what is still to do."""
        return [line for line in self.lines if line.mark is None]

    @property
    def minutes_left(self) -> int:
        """Return the minutes of what is still to do."""
        return sum(line.minutes for line in self.left)

    @property
    def minutes(self) -> int:
        """Return the minutes of the whole round."""
        return sum(line.minutes for line in self.lines)

    @property
    def groups(self) -> list[Group]:
        """Return its lines by housing."""
        return by_place(self.lines)

    @property
    def mine(self) -> list[Group]:
        """Return the lines the member may tick, by housing."""
        return by_place(line for line in self.lines if line.may)

    @property
    def others(self) -> list[Group]:
        """Return the lines somebody else has to do, by housing."""
        return by_place((line for line in self.lines if not line.may), "-theirs")


@dataclass(frozen=True, slots=True)
class Day:
    """A day's rounds, the current one first, and the steps from before it that were still open when it began.

    shared: the farm has a rota. mine: only what it gives to whoever looks is here.
    """

    day: date
    rounds: Sequence[Round]
    before: Sequence[Line]
    shared: bool = False
    mine: bool = False

    @property
    def in_order(self) -> list[Round]:
        """Return the rounds in the order of the day, as paper has them."""
        return sorted(self.rounds, key=lambda one: RoundName.values.index(one.key))

    @property
    def total(self) -> int:
        """Return how many lines the page has."""
        return sum(len(one.lines) for one in self.rounds) + len(self.before)

    @property
    def left(self) -> int:
        """Return how many of them are still to do."""
        return sum(len(one.left) for one in self.rounds) + len(self.before_left)

    @property
    def minutes_left(self) -> int:
        """Return the minutes of what is still to do."""
        return sum(one.minutes_left for one in self.rounds) + sum(line.minutes for line in self.before_left)

    @property
    def before_left(self) -> list[Line]:
        """Return the steps from before the day that are still open."""
        return [line for line in self.before if line.mark is None]


def of_day(
    farm: Farm,
    member: Member,
    day: date,
    now: datetime,
    today: date,
    unfolded: str = "",
    *,
    mine: bool = False,
) -> Day:
    """Return the farm's day as `member` sees it; `now` decides the current round when the day is today.

    unfolded: the key of a line that must be in sight. mine: only what the rota gives to them; without a rota it says
    nothing.
    """
    work = agenda.on_day(farm, day, today)
    # Seen from a day ahead, what is open now may well be done by then.
    late = () if day > today else (*work.before, *work.caught_up)
    tell = telling.read(farm, member, (*work.due, *late), day, today)
    shared = tell.doers.out is not None
    mine = mine and shared
    found = [tell.line(due) for due in work.due if tell.is_shown(due, mine)]
    found += [
        lines.of_mark(mark, member)
        for mark in work.kept
        if agenda.is_shown(member, mark.source) and (not mine or mark.member_id == member.pk)
    ]
    by_round = {key: [line for line in found if line.round == key] for key in RoundName.values}
    current = current_round(farm, now, [key for key in by_round if by_round[key]]) if day == today else None
    rounds = [
        Round(
            key=key,
            label=str(RoundName(key).label),
            lines=by_round[key],
            current=key == current,
            opened=_opened(by_round[key], key, current)
            or any(line.key == unfolded for line in by_round[key]),
        )
        for key in _in_order(current)
        if by_round[key]
    ]
    before = [tell.line(due) for due in late if tell.is_shown(due, mine)]
    return Day(day, rounds, before, shared=shared, mine=mine)


def current_round(farm: Farm, now: datetime, filled: Sequence[str]) -> str | None:
    """Return the round it is at `now`: the last one begun that has something, else the first that has.

    filled: the rounds with something in them, in the order of the day. The time counts in the active time zone.
    """
    at = timezone.localtime(now).time()
    begins = {"morning": farm.morning_at, "midday": farm.midday_at, "evening": farm.evening_at}
    begun = [key for key in filled if begins[key] <= at]
    return begun[-1] if begun else (filled[0] if filled else None)


def day_asked(text: str, today: date, most_days: int = 400) -> date:
    """Return the day written in an address as 2026-05-09; today for anything else or a day too far away."""
    try:
        day = date.fromisoformat(text)
    except ValueError:
        return today
    return day if abs(day - today) <= timedelta(days=most_days) else today


def _in_order(current: str | None) -> list[str]:
    """Return the rounds, the current one first, the others in the order of the day."""
    return sorted(RoundName.values, key=lambda key: (key != current, RoundName.values.index(key)))


def _opened(found: Sequence[Line], key: str, current: str | None) -> bool:
    """A round of another day is open; of today's the current one, and earlier ones with something left."""
    if current is None or key == current:
        return True
    order = RoundName.values
    return order.index(key) < order.index(current) and any(line.mark is None for line in found)
