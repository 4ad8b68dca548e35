"""What a member's page shows: today's rounds, the current one first, what is open from before, two days ahead."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import uuid4

from farm.models import Batch, MarkPhoto
from farm.models.chore_mark import Round as RoundName
from farm.planning.window import Window
from farm.queries import rounds as shares
from farm.queries.rounds import Share
from farm.services import shown
from farm.web.my.doors import Door
from farm.web.my.records import MyDay, MyLine, MyRound, MyWork, Place
from farm.web.today import lines, rounds
from farm.web.today.lines import Line

AHEAD_DAYS = 2  # days that can be read ahead; project default (judgement)


def of(door: Door) -> MyWork:
    """Return what the page shows to whoever came in by `door`."""
    today = door.by.today
    found = shares.of_member(door.member, Window(today, 1 + AHEAD_DAYS), today)
    maker = _Maker(door, _batches(door, found), _photos(door, found))
    days = [maker.day(today + timedelta(days=n), found) for n in range(1 + AHEAD_DAYS)]
    return MyWork(
        today=days[0],
        before=[maker.line(share) for share in found if share.due.item.due < today],
        ahead=days[1:],
    )


def _batches(door: Door, found: Iterable[Share]) -> dict[str, Batch]:
    """Return the batches of today's lines by their number as text, where deaths may be counted."""
    if not door.may_count:
        return {}
    keys = {key for share in found if share.due.item.due == door.by.today for key in share.due.item.batches}
    rows = Batch.objects.filter(farm=door.farm, pk__in=map(int, keys), expected=False)
    return {str(row.pk): row for row in rows.order_by("name")}


def _photos(door: Door, found: Iterable[Share]) -> dict[int, int]:
    """Return the numbers of pictures by those of their marks."""
    marks = [share.due.mark.pk for share in found if share.due.mark is not None]
    return dict(MarkPhoto.objects.filter(farm=door.farm, mark__in=marks).values_list("mark_id", "pk"))


@dataclass(frozen=True, slots=True)
class _Maker:
    """Makes the parts of one page. batches: whose deaths may be counted today. photos: by mark."""

    door: Door
    batches: dict[str, Batch]
    photos: dict[int, int]

    def day(self, day: date, found: Sequence[Share]) -> MyDay:
        """Return one day, its current round first."""
        of_round = {
            key: [share for share in found if (share.due.item.due, share.due.item.round) == (day, key)]
            for key in RoundName.values
        }
        filled = [key for key in RoundName.values if of_round[key]]
        is_today = day == self.door.by.today
        current = rounds.current_round(self.door.farm, self.door.by.now, filled) if is_today else None
        order = sorted(filled, key=lambda key: (key != current, RoundName.values.index(key)))
        return MyDay(day, [self._round(key, of_round[key], current, is_today=is_today) for key in order])

    def _round(self, key: str, found: Sequence[Share], current: str | None, *, is_today: bool) -> MyRound:
        return MyRound(
            key=key,
            label=str(RoundName(key).label),
            places=self._places(found, self.batches if is_today else {}),
            current=key == current,
            opened=is_today and (key == current or _late(found, key, current)),
        )

    def _places(self, found: Iterable[Share], batches: dict[str, Batch]) -> list[Place]:
        by_place: dict[tuple[str, str], list[Share]] = {}
        for share in found:
            by_place.setdefault((share.due.item.room or "", share.due.item.room_name), []).append(share)
        return [
            Place(
                name=name,
                lines=[self.line(share) for share in own],
                housing=int(room) if room.isdecimal() else None,
                batches=_living(own, batches) if room.isdecimal() else (),
                form_key=str(uuid4()),
            )
            for (room, name), own in by_place.items()
        ]

    def line(self, share: Share) -> MyLine:
        """Return one line."""
        member = self.door.member
        line, key = lines.of_due(share.due, member, self.door.farm.units), share.due.item.occurrence
        return MyLine(
            line=line,
            key=key,
            others=share.others,
            nobody=share.nobody,
            proof=shown.proof(member, key, line.title, line.minutes),
            form_key=str(uuid4()),
            may_open=self._may_open(line),
            photo=self.photos.get(line.mark.pk) if line.mark else None,
        )

    def _may_open(self, line: Line) -> bool:
        """Say whether the tick may be taken back here: over a link only one's own."""
        if line.mark is None or not line.may:
            return False
        return self.door.link is None or line.mark.member_id == self.door.member.pk


def _late(found: Iterable[Share], key: str, current: str | None) -> bool:
    """Say whether a round is over and something of it is still open."""
    order = RoundName.values
    over = current is not None and order.index(key) < order.index(current)
    return over and any(share.due.open for share in found)


def _living(own: Iterable[Share], batches: dict[str, Batch]) -> list[Batch]:
    """Return the batches that live where these lines are."""
    keys = {key for share in own for key in share.due.item.batches}
    return [batch for key, batch in batches.items() if key in keys]
