"""What the lines of a day are made with, read once for all of them: who does what, what was put off, pictures."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from farm.models import ChoreMark, Farm, MarkPhoto, Member, Postponement
from farm.models.own_chore import Asks
from farm.planning.rota.records import Key
from farm.queries import agenda
from farm.queries.agenda import Due
from farm.web.today import doers, later, lines
from farm.web.today.doers import Doers
from farm.web.today.lines import Line


@dataclass(frozen=True, slots=True)
class Telling:
    """Makes the lines that one member sees. put_off: by occurrence. photos: numbers of pictures by those of marks."""

    farm: Farm
    member: Member
    today: date
    doers: Doers
    put_off: Mapping[Key, Postponement]
    photos: Mapping[int, int]

    def line(self, due: Due, error: str = "") -> Line:
        """Return the line of an occurrence."""
        return lines.of_due(
            due,
            self.member,
            self.farm.units,
            error,
            doers=self.doers.of(due),
            put_off=self.put_off.get(due.item.occurrence),
            later=later.of(due, self.today),
            photo=None if due.mark is None else self.photos.get(due.mark.pk),
        )

    def is_shown(self, due: Due, mine: bool) -> bool:
        """Say whether the member sees it. mine: only what is their own by the rota."""
        own = not mine or self.doers.is_of(due, self.member)
        return own and agenda.is_shown(self.member, due.item.source)


def read(farm: Farm, member: Member, dues: Collection[Due], day: date, today: date) -> Telling:
    """Return what the lines of `dues`, seen on `day`, are made with. At most five queries."""
    days = [due.item.due for due in dues]
    return Telling(
        farm=farm,
        member=member,
        today=today,
        doers=doers.read(farm, min(days, default=day), max(days, default=day), today),
        put_off=_put_off(farm, dues),
        photos=_photos([due.mark for due in dues if due.mark is not None and due.item.asks == Asks.PHOTO]),
    )


def _put_off(farm: Farm, dues: Collection[Due]) -> dict[Key, Postponement]:
    moved = {due.item.occurrence for due in dues if due.item.first is not None}
    if not moved:
        return {}
    first_due = [day for _source, day, _round in moved]
    rows = Postponement.objects.filter(farm=farm, due__gte=min(first_due), due__lte=max(first_due))
    found = {(row.source, row.due, row.round): row for row in rows.select_related("member")}
    return {key: row for key, row in found.items() if key in moved}


def _photos(marks: list[ChoreMark]) -> dict[int, int]:
    if not marks:
        return {}
    return dict(MarkPhoto.objects.filter(mark__in=marks).values_list("mark_id", "pk"))
