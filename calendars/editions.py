"""Editions: one farm's agenda as one reader sees it. Links with the same reader, scope and language share
one.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings

from calendars.models import CalendarLink, Scope
from farm.models import Farm, Member
from farm.models.member import Role
from farm.planning.window import Window

PAST_DAYS = 30
AHEAD_DAYS = 180
NOTICE_DAYS = 30
#: Raise when the same agenda would be written differently, so that stored bodies are built again.
FORMAT = 2


@dataclass(frozen=True, slots=True)
class Edition:
    """member None is the whole farm's edition. language: of the link; a calendar negotiates nothing."""

    farm: Farm
    member: Member | None
    language: str

    @property
    def reader(self) -> str:
        """Return who the edition is for, stable: part of the UIDs of what differs by reader."""
        return "farm" if self.member is None else f"m{self.member.pk}"

    @property
    def name(self) -> str:
        """Return the edition's key within its farm."""
        return f"{self.reader}:{self.language}"

    @property
    def zone(self) -> ZoneInfo:
        """Return the farm's zone."""
        return ZoneInfo(self.farm.time_zone)

    def today(self, now: datetime) -> date:
        """Return the farm's local day."""
        return now.astimezone(self.zone).date()

    def key(self, today: date) -> str:
        """Return what the body depends on: same key, same bytes."""
        parts = (FORMAT, self.farm.version, today.isoformat(), self.name, settings.ADDRESS)
        return hashlib.sha256(repr(parts).encode()).hexdigest()


def of(link: CalendarLink) -> Edition:
    """Return the edition a link shows now. A child never reads the whole farm's, whatever the link once
    was.
    """
    whole = link.scope == Scope.FARM and link.member.role != Role.CHILD
    return Edition(link.farm, None if whole else link.member, link.language)


def window(today: date) -> Window:
    """Return the days a calendar covers: PAST_DAYS back to AHEAD_DAYS ahead."""
    return Window(today - timedelta(days=PAST_DAYS), PAST_DAYS + AHEAD_DAYS)


def ended_at(link: CalendarLink) -> datetime | None:
    """Return the instant from which the link is off, None while it is on.

    It is off when it was switched off, when its member left, and while the member's login may not sign in: as nobody
    wrote down since when, as if it had never been on.
    """
    ends = [link.revoked_at] if link.revoked_at else []
    member = link.member
    if member.left_on is not None:
        zone = ZoneInfo(link.farm.time_zone)
        ends.append(datetime.combine(member.left_on, time(), tzinfo=zone).astimezone(UTC))
    if member.login is not None and not member.login.is_active:
        ends.append(link.created_at)
    return min(ends, default=None)
