"""Who does what by the rota, as the lines of today say it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, timedelta

from django.utils.translation import gettext as _

from farm.models import Farm, Member
from farm.planning.agenda import Item
from farm.planning.rota.records import Key
from farm.planning.window import Window
from farm.queries import rota, rota_problem
from farm.queries.agenda import Due


@dataclass(frozen=True, slots=True)
class Doers:
    """Who is given what. out: the days the rota reaches, None on a farm without one."""

    out: Window | None = None
    given: Mapping[Key, tuple[int, ...]] = field(default_factory=dict)
    names: Mapping[int, str] = field(default_factory=dict)

    def of(self, due: Due) -> str:
        """Return the names of those who do it, "nobody yet" where somebody is still to be found, else ""."""
        people = [self.names[pk] for pk in self._people(due.item) if pk in self.names]
        if people:
            return ", ".join(people)
        return _("nobody yet") if due.open and self._to_give(due.item) else ""

    def is_of(self, due: Due, member: Member) -> bool:
        """Say whether it is a member's: given to them, or done by them when nobody was given it."""
        people = self._people(due.item)
        if people or due.mark is None:
            return member.pk in people
        return due.mark.member_id == member.pk

    def _people(self, item: Item) -> tuple[int, ...]:
        return self.given.get(item.occurrence, ())

    def _to_give(self, item: Item) -> bool:
        """Say whether the rota should have given it to somebody; chores of past days are over, steps are not."""
        if self.out is None or not item.minutes or item.due >= self.out.end:
            return False
        return item.due >= self.out.start or item.kind == "step"


def read(farm: Farm, first: date, last: date, today: date) -> Doers:
    """Return who does what on the days from `first` to `last`, both included. Three queries, one without a rota."""
    rules = rota.rules(farm)
    if rules is None:
        return Doers()
    window = Window(first, max((last - first) // timedelta(days=1), 0) + 1)
    return Doers(
        out=rota_problem.window(rules, today),
        given=rota.assigned(farm, window),
        names=dict(Member.objects.filter(farm=farm, left_on__isnull=True).values_list("pk", "name")),
    )
