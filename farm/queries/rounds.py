"""What one member has to do: their rounds, and without a rota all they may do."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from farm.models import Farm, Member
from farm.models.member import Role
from farm.planning.agenda import Item
from farm.planning.rota.records import Key
from farm.planning.window import Window
from farm.queries import agenda, rota_problem, rota_rows
from farm.queries.agenda import Due


@dataclass(frozen=True, slots=True)
class Share:
    """What one occurrence is to one member.

    mine: they are given it, or there is no rota and they may do it. nobody: no one is given it though the rota reaches
    that day. others: names of the other people it is given to.
    """

    due: Due
    mine: bool
    nobody: bool
    others: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rounds:
    """What is due in a window, and who is given it; read once for all members.

    given: numbers of members still on the farm, by occurrence. out: the days the rota reaches, None without one.
    """

    dues: tuple[Due, ...]
    given: Mapping[Key, tuple[int, ...]]
    names: Mapping[int, str]
    out: Window | None

    def of(self, member: Member) -> list[Share]:
        """Return what it is to one member, in order: what they have to do, done or not.

        Keepers who may do it see what nobody is given and what takes no time; whoever did what nobody was given, that.
        """
        return [share for due in self.dues if (share := self._share(due, member)) is not None]

    def _share(self, due: Due, member: Member) -> Share | None:
        if self.out is None:
            return Share(due, True, False) if may_do(member, due.item) else None
        people = self.given.get(due.item.occurrence, ())
        if member.pk in people:
            return Share(due, True, False, tuple(self.names[each] for each in people if each != member.pk))
        if people:
            return None
        if due.mark is not None:
            return Share(due, False, False) if due.mark.member_id == member.pk else None
        if member.role == Role.KEEPER and may_do(member, due.item) and self._still_to_give(due.item):
            return Share(due, False, bool(due.item.minutes))
        return None

    def _still_to_give(self, item: Item) -> bool:
        """Say whether somebody should have been given it; chores of past days are over, steps are not."""
        assert self.out is not None, "without a rota nothing is given"
        return item.due < self.out.end and (item.due >= self.out.start or item.kind == "step")


def of_member(member: Member, window: Window, today: date) -> list[Share]:
    """Return what the member has to do in the window, done or not, in the agenda's order.

    With a rota: what they are given, and for a keeper who may do it what nobody is given. Without: all they may do. A
    window that begins today has the steps still open from before today first.
    """
    return read(member.farm, window, today).of(member)


def read(farm: Farm, window: Window, today: date) -> Rounds:
    """Return what is due in the window for every member; see `of_member`."""
    dues = rota_rows.dues(farm, window, today)
    if window.start == today:
        dues = (*agenda.on_day(farm, today, today).before, *dues)
    rules, names = rota_rows.rules(farm), rota_rows.members(farm)
    given = (
        rota_rows.given(farm, rota_rows.first_due((due.item for due in dues), today))
        if rules is not None
        else {}
    )
    return Rounds(
        dues=dues,
        given={key: tuple(each for each in people if each in names) for key, people in given.items()},
        names={pk: member.name for pk, member in names.items()},
        out=None if rules is None else rota_problem.window(rules, today),
    )


def may_do(member: Member, item: Item) -> bool:
    """Say whether a member may do an item: grown up enough for it, and able to."""
    return old_enough(member, item.who) and member.abilities.issuperset(item.needs)


def old_enough(member: Member, who: str) -> bool:
    """Say whether a member is experienced enough for work of `who`, the least who may do it."""
    return {"adult": member.adult, "helper": member.role != Role.CHILD, "child": True}[who]
