"""Whose an item of the agenda is: what one member's calendar holds of it, and who does it for the whole farm's.

Without a rota a member's calendar holds all they may do. With one, it holds what they are given, and for keepers what
nobody is given; beyond the weeks that are given out, the dated steps they may do, and no rounds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from farm.models import Farm, Member
from farm.models.member import Role
from farm.planning.agenda import Item
from farm.planning.rota.records import Key
from farm.planning.window import Window
from farm.queries import rota_problem, rota_rows, rounds


@dataclass(frozen=True, slots=True)
class Whose:
    """Who does what. out: the days the rota reaches, None without one. given: numbers of members by occurrence."""

    member: Member | None
    out: Window | None
    given: Mapping[Key, tuple[int, ...]]
    names: Mapping[int, str] = field(default_factory=dict)

    def shows(self, item: Item) -> bool:
        """Say whether the reader's calendar holds an item."""
        member = self.member
        if member is None:
            return True
        if self.out is None:
            return rounds.may_do(member, item)
        people = self.given.get(item.occurrence, ())
        if people:
            return member.pk in people
        if item.due >= self.out.end:
            return item.kind == "step" and rounds.may_do(member, item)
        still_to_give = item.due >= self.out.start or item.kind == "step"
        return still_to_give and member.role == Role.KEEPER and rounds.may_do(member, item)

    def doers(self, item: Item) -> str:
        """Return the names of those who do it besides the reader, "" where nobody is named."""
        people = self.given.get(item.occurrence, ())
        own = None if self.member is None else self.member.pk
        return ", ".join(self.names[each] for each in people if each != own and each in self.names)


def read(farm: Farm, member: Member | None, items: Sequence[Item], today: date) -> Whose:
    """Read who does the items by the farm's rota. Three queries at most."""
    rules = rota_rows.rules(farm)
    if rules is None:
        return Whose(member, None, {})
    names = {pk: row.name for pk, row in rota_rows.members(farm).items()}
    given = rota_rows.given(farm, rota_rows.first_due(items, today))
    present = {key: tuple(each for each in people if each in names) for key, people in given.items()}
    return Whose(member, rota_problem.window(rules, today), present, names)
