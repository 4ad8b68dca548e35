"""Reads of the calendars that tell of days away."""

from __future__ import annotations

import json
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from django.db.models import QuerySet

from calendars.incoming.models import Counts, OuterCalendar
from calendars.incoming.records import Asked, Reading, Rules, Span, reading_of
from farm.models import Away, Farm, Member
from farm.models.member import ROUND_NAMES, Role
from farm.services import outside_days
from farm.services.channels import sealing

#: So many weeks ahead are read: half a year, longer than any rota. Project default (judgement).
WEEKS = 26
#: What was read reaches so many days further, so that a calendar that does not change need not be read every day.
SPARE_DAYS = 7


def seen_by(member: Member) -> QuerySet[OuterCalendar]:
    """Return the calendars a member may see: a keeper all of the farm's, others their own."""
    found = OuterCalendar.objects.filter(farm_id=member.farm_id, member__left_on__isnull=True)
    found = found.select_related("member", "farm")
    return found if member.role == Role.KEEPER else found.filter(member=member)


def may_read_titles(visitor: Member, calendar: OuterCalendar) -> bool:
    """Say whether a visitor is shown what the entries are called: the member, or a keeper for who can't sign in."""
    return visitor.pk == calendar.member_id or (
        visitor.role == Role.KEEPER and calendar.member.login_id is None
    )


def asked(farm: Farm, member: Member, rules: Rules, today: date) -> Asked:
    """Return the question to a calendar of a member."""
    begins = {"morning": farm.morning_at, "midday": farm.midday_at, "evening": farm.evening_at}
    rounds = [
        tuple(begins[name] for name in ROUND_NAMES if member.is_there(weekday, name)) for weekday in range(7)
    ]
    last = today + timedelta(weeks=WEEKS, days=SPARE_DAYS)
    return Asked(today, last, ZoneInfo(farm.time_zone), tuple(rounds), rules)


def rules_of(counts: str, least_hours: int, words: str, without: str) -> Rules:
    """Return the rules of a calendar; words are separated by commas."""
    hours = least_hours if counts == Counts.HOURS else None
    return Rules(hours, _split(words), _split(without))


def spans_of(calendar: OuterCalendar) -> list[Span]:
    """Return the days away that a calendar told the last time it was read."""
    return [(date.fromisoformat(start), date.fromisoformat(end)) for start, end in calendar.spans]


def new_days(calendar: OuterCalendar, today: date) -> list[Span]:
    """Return the days a calendar tells of, from today on, on which its member is not away yet."""
    kept = Away.objects.filter(member_id=calendar.member_id, end__gt=today).values_list("start", "end")
    return outside_days.without([(max(a, today), b) for a, b in spans_of(calendar)], kept)


def reading_of_last(calendar: OuterCalendar) -> Reading | None:
    """Return what was last read, with its entries; None when it was never read, or can't be opened any more."""
    try:
        return reading_of(json.loads(sealing.open_sealed(calendar.seen))) if calendar.seen else None
    except (sealing.SealBroken, ValueError, KeyError, TypeError):
        return None


def due(now: datetime) -> list[int]:
    """Return the numbers of the calendars that are to be asked now."""
    found = OuterCalendar.objects.filter(
        on=True, next_at__lte=now, member__left_on__isnull=True, farm__closing_on__isnull=True
    )
    return list(found.order_by("next_at").values_list("pk", flat=True))


def _split(words: str) -> tuple[str, ...]:
    return tuple(word for each in words.split(",") if (word := " ".join(each.split())))
