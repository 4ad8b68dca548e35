"""Clock times of a farm as instants: a time its clocks skip or repeat in one night still happens exactly once."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from farm.models import Farm, ReminderWishes
from farm.models.member import ROUND_NAMES

#: A reminder is of use until this long after its round's time. Project default (judgement).
USE = timedelta(hours=3)


def zone_of(farm: Farm) -> ZoneInfo:
    """Return the farm's time zone."""
    return ZoneInfo(farm.time_zone)


def instant(day: date, clock: time, zone: ZoneInfo) -> datetime:
    """Return when a farm's clocks show `clock` on `day`, in UTC.

    Of a time they show twice that night the first; one they skip comes as long after midnight as on any other day.
    """
    return datetime.combine(day, clock, tzinfo=zone).astimezone(UTC)


def round_at(farm: Farm, day: date, name: str) -> datetime:
    """Return the instant of a round."""
    return instant(day, round_clock(farm, name), zone_of(farm))


def round_clock(farm: Farm, name: str) -> time:
    """Return the farm's clock time of a round."""
    if name not in ROUND_NAMES:
        raise KeyError(name)
    clock = getattr(farm, f"{name}_at")
    return (
        clock if isinstance(clock, time) else time.fromisoformat(clock)
    )  # a farm just made still has its text


def told_at(wishes: ReminderWishes | None, at: datetime, zone: ZoneInfo) -> datetime:
    """Return `at`, or the end of the quiet hours it falls into."""
    if wishes is None or wishes.quiet_from is None or wishes.quiet_to is None:
        return at
    local, start, end = at.astimezone(zone), wishes.quiet_from, wishes.quiet_to
    clock = local.time()
    overnight = start > end
    quiet = (clock >= start or clock < end) if overnight else start <= clock < end
    if not quiet:
        return at
    day = local.date() + timedelta(days=1) if overnight and clock >= start else local.date()
    return max(at, instant(day, end, zone))  # the hour that comes twice has its end behind it the second time
