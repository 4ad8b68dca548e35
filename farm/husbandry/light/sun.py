"""When the sun rises and sets, and how long it is up.

Rising and setting are of the sun's upper edge at standard refraction (34 minutes of arc), on level ground. Positions
come from the library ephem (VSOP87 by way of libastro), which is good to seconds; hills and trees are not known.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import lru_cache

import ephem

_HORIZON = "-0:34"
_DEGREES_AN_HOUR = 15


@dataclass(frozen=True, slots=True)
class SunTimes:
    """One day's sun: rises and sets in the farm's zone, None where it stays up or down all day; hours it is up."""

    rises: datetime | None
    sets: datetime | None
    hours: float


@lru_cache(maxsize=8192)
def sun_times(latitude: float, longitude: float, day: date, zone: tzinfo) -> SunTimes:
    """Return the sun's times around the noon that falls on `day` in the zone.

    latitude, longitude: degrees, north and east positive. Raises ValueError for latitude outside -90..90 or longitude
    outside -180..180.
    """
    if not (-90 <= latitude <= 90 and -180 <= longitude <= 180):
        raise ValueError("latitude must be within -90 to 90 and longitude within -180 to 180")
    place = ephem.Observer()
    place.lat, place.lon = str(latitude), str(longitude)
    place.horizon, place.pressure = _HORIZON, 0  # refraction is in the horizon: not to be counted twice
    place.date = _noon(longitude, day, zone).replace(tzinfo=None)
    sun = ephem.Sun()
    try:
        rises = place.previous_rising(sun).datetime().replace(tzinfo=UTC)
        sets = place.next_setting(sun).datetime().replace(tzinfo=UTC)
    except ephem.AlwaysUpError:
        return SunTimes(None, None, 24.0)
    except ephem.NeverUpError:
        return SunTimes(None, None, 0.0)
    return SunTimes(
        rises.astimezone(zone), sets.astimezone(zone), min((sets - rises) / timedelta(hours=1), 24.0)
    )


@lru_cache(maxsize=8192)
def day_length_h(latitude: float, day: date) -> float:
    """Return the hours from sunrise to sunset; at any longitude they are the same to within seconds."""
    return sun_times(latitude, 0.0, day, UTC).hours


def _noon(longitude: float, day: date, zone: tzinfo) -> datetime:
    """Return the instant, in UTC, of about the highest sun on a day of the zone's own calendar."""
    noon = datetime.combine(day, time(12), tzinfo=UTC) - timedelta(hours=longitude / _DEGREES_AN_HOUR)
    return noon + (day - noon.astimezone(zone).date())
