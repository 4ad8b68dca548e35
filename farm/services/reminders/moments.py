"""When whom is to be told what: the instants of a farm's reminders, whatever they will say."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from farm.models import Farm
from farm.models.member import ROUND_NAMES
from farm.models.notice import NoticeKind
from farm.queries.reminders import Reader
from farm.services.reminders import times

_DAY = timedelta(days=1)
#: A week ahead told this much later is no news. Project default (judgement).
OUTLOOK_USE = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class Moment:
    """One instant at which to look whether there is something to tell.

    to: whom; None when the farm's state decides that (missed chores). day, round: what it is about; of a week ahead
    its first day. step: how many were told of the same missed round before. until: from when on it is of no use.
    """

    at: datetime
    until: datetime
    kind: NoticeKind
    day: date
    round: str = ""
    step: int = 0
    to: Reader | None = None


def moments(
    farm: Farm, readers: Sequence[Reader], first: date, last: date, missed_after: timedelta
) -> list[Moment]:
    """Return the moments about rounds of the days from `first` to `last`, and the weeks that begin in between."""
    days = [first + _DAY * n for n in range((last - first).days + 1)]
    found = [
        *(moment for reader in readers for day in days for moment in _of_reader(farm, reader, day)),
        *(moment for day in days for moment in missed(farm, readers, day, missed_after)),
    ]
    return sorted(found, key=lambda moment: moment.at)


def due(found: Iterable[Moment], since: datetime, now: datetime) -> list[Moment]:
    """Return the moments from `since` up to now."""
    return [moment for moment in found if since <= moment.at <= now]


def next_after(found: Iterable[Moment], now: datetime) -> datetime | None:
    """Return the earliest instant after now."""
    return min((moment.at for moment in found if moment.at > now), default=None)


def missed(farm: Farm, readers: Sequence[Reader], day: date, after: timedelta) -> Iterator[Moment]:
    """Yield when to look whether birds wait: once for those whose chores they are, once for each further adult."""
    wanting = [one for one in readers if one.wishes is not None and one.wishes.missed]
    if not wanting:
        return
    adults = sum(one.member.adult for one in wanting)
    for name in ROUND_NAMES:
        begins = times.round_at(farm, day, name)
        for step in range(adults + 1):
            at = begins + after + step * after / 2
            yield Moment(at, at + times.USE, NoticeKind.MISSED, day, name, step)


def _of_reader(farm: Farm, reader: Reader, day: date) -> Iterator[Moment]:
    wishes, zone = reader.wishes, times.zone_of(farm)
    if wishes is None:
        return
    for name in ROUND_NAMES:
        clock = getattr(wishes, f"{name}_at")
        if clock is not None:
            # A time later than the round's own can only mean the evening before.
            told_on = day - _DAY if clock > times.round_clock(farm, name) else day
            at = times.told_at(wishes, times.instant(told_on, clock, zone), zone)
            until = max(times.round_at(farm, day, name), at) + times.USE
            yield Moment(at, until, NoticeKind.ROUND, day, name, to=reader)
    if wishes.outlook_weekday == (day - _DAY).weekday():
        at = times.told_at(wishes, times.instant(day - _DAY, wishes.outlook_at, zone), zone)
        yield Moment(at, at + OUTLOOK_USE, NoticeKind.OUTLOOK, day, to=reader)
