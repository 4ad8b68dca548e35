"""Editions: one farm's agenda as one reader sees it. Links with the same reader and options share one."""

from __future__ import annotations

import hashlib
from dataclasses import astuple, dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.conf import settings

from calendars.choices import AHEAD_DAYS, PAST_DAYS, Rounds, Scope
from calendars.models import CalendarLink
from farm.models import Farm, Member
from farm.models.member import Role
from farm.planning.window import Window
from farm.services.farewell.farms import GRACE_DAYS

NOTICE_DAYS = 30
#: Raise when the same agenda would be written differently, so that stored bodies are built again.
FORMAT = 3


@dataclass(frozen=True, slots=True)
class Options:
    """How a calendar is written; see `CalendarLink`. ahead_days may be negative for a copy of past days."""

    zone: str = ""
    alarm_minutes: int | None = None
    rounds: str = Rounds.TIMED
    back_days: int = PAST_DAYS
    ahead_days: int = AHEAD_DAYS


USUAL = Options()


@dataclass(frozen=True, slots=True)
class Edition:
    """What one calendar holds. member: whose rounds and steps it shows; None shows everybody's, within `scope`.

    language: of the link; a calendar negotiates nothing. about: number of the housing or batch of such a scope.
    """

    farm: Farm
    member: Member | None
    language: str
    scope: str = Scope.FARM
    about: int | None = None
    options: Options = USUAL

    @property
    def reader(self) -> str:
        """Return who the edition is for, stable: part of the UIDs of what differs by reader."""
        if self.member is not None:
            return f"m{self.member.pk}"
        return f"{self.scope}{self.about or ''}"

    @property
    def name(self) -> str:
        """Return the edition's key within its farm: its reader, and its options where they are not the usual ones."""
        options = self.options
        if options == USUAL:
            return f"{self.reader}:{self.language}"
        digest = hashlib.sha256(repr(astuple(options)).encode()).hexdigest()
        return f"{self.reader}:{self.language}:{digest[:12]}"

    @property
    def zone(self) -> ZoneInfo:
        """Return the farm's zone, which says what day it is there."""
        return ZoneInfo(self.farm.time_zone)

    @property
    def written_in(self) -> str:
        """Return the IANA name of the zone timed entries are written in."""
        return self.options.zone or self.farm.time_zone

    def today(self, now: datetime) -> date:
        """Return the farm's local day."""
        return now.astimezone(self.zone).date()

    def window(self, today: date) -> Window:
        """Return the days the calendar covers."""
        back, ahead = self.options.back_days, self.options.ahead_days
        return Window(today - timedelta(days=back), back + ahead)

    def key(self, today: date) -> str:
        """Return what the body depends on: same key, same bytes."""
        parts = (FORMAT, self.farm.version, today.isoformat(), self.name, settings.ADDRESS)
        return hashlib.sha256(repr(parts).encode()).hexdigest()


def of(link: CalendarLink) -> Edition:
    """Return the edition a link shows now."""
    options = Options(link.zone, link.alarm_minutes, link.rounds, link.back_days, link.ahead_days)
    return for_member(link.member, link.language, link.scope, link.about, options, farm=link.farm)


def for_member(
    member: Member,
    language: str,
    scope: str,
    about: int | None = None,
    options: Options = USUAL,
    *,
    farm: Farm | None = None,
) -> Edition:
    """Return the edition of a scope for a member. A child only ever reads their own, whatever was asked for or a link
    once was.
    """
    farm = farm or member.farm
    if scope == Scope.MINE or member.role == Role.CHILD:
        return Edition(farm, member, language, Scope.MINE, None, options)
    return Edition(farm, None, language, scope, about, options)


def ended_at(link: CalendarLink) -> datetime | None:
    """Return the instant from which the link is off, None while it is on.

    It is off when it was switched off, when its member left, while its farm is closed, and while the member's login may
    not sign in: as nobody wrote down since when, as if it had never been on.
    """
    ends = [link.revoked_at] if link.revoked_at else []
    if link.farm.closing_on is not None:
        closed_on = link.farm.closing_on - timedelta(days=GRACE_DAYS)
        ends.append(datetime.combine(closed_on, time(), tzinfo=ZoneInfo(link.farm.time_zone)).astimezone(UTC))
    member = link.member
    if member.left_on is not None:
        zone = ZoneInfo(link.farm.time_zone)
        ends.append(datetime.combine(member.left_on, time(), tzinfo=zone).astimezone(UTC))
    if member.login is not None and not member.login.is_active:
        ends.append(link.created_at)
    return min(ends, default=None)
