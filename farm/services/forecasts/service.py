"""MET Norway's Locationforecast 2.0, or whoever answers in its format.

Its data are open (CC BY 4.0) and need no key. Its terms ask for a User-Agent that says who asks and where to write to,
for at most four decimals of a place, and for patience until `Expires`.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlencode

from farm.services.forecasts import web
from farm.services.forecasts.provider import Got, NoForecast, Reading

#: A place is told to so many decimals of a degree: about a kilometre.
DECIMALS = 2
#: Further off than this, in degrees, it is the answer for another place.
_NEAR = 0.2
#: Temperatures no place has had, °C.
_LEAST_C, _MOST_C = -90.0, 60.0
_HOUR = timedelta(hours=1)


@dataclass(frozen=True, slots=True)
class Locationforecast:
    """The service at `url`; contact: an e-mail address or site it may write to, needed before anything is asked."""

    url: str
    contact: str
    seconds: float = web.WHOLE_SECONDS

    def fetch(self, latitude: float, longitude: float, now: datetime) -> Got:
        """Return the forecast for a place, degrees. Raises NoForecast."""
        if not self.contact:
            raise NoForecast("refused")
        place = {"lat": round(latitude, DECIMALS), "lon": round(longitude, DECIMALS)}
        headers = {"User-Agent": f"Featherdays/1 {self.contact}", "Accept": "application/json"}
        body, said = web.get(f"{self.url}?{urlencode(place)}", headers, now, self.seconds)
        try:
            found = json.loads(body)
            _check_place(found["geometry"]["coordinates"], place)
            readings = tuple(_readings(found["properties"]["timeseries"]))
        except (ValueError, KeyError, TypeError, IndexError, AttributeError, RecursionError) as error:
            raise NoForecast("unreadable") from error
        if not readings:
            raise NoForecast("unreadable")
        return Got(readings, web.moment(said.get("Expires")))


def _check_place(coordinates: Any, asked: dict[str, float]) -> None:
    longitude, latitude = float(coordinates[0]), float(coordinates[1])
    around = abs((longitude - asked["lon"] + 180) % 360 - 180)
    if not (abs(latitude - asked["lat"]) <= _NEAR and around <= _NEAR):
        raise NoForecast("elsewhere")


def _readings(series: Any) -> Iterator[Reading]:
    """Yield what each step of the series says: the instant, and the range of the hours after it where it is told."""
    for step in series:
        at = datetime.fromisoformat(step["time"])
        if at.tzinfo is None:
            raise ValueError("a time without its zone")
        data = step["data"]
        now_c = _celsius(data["instant"]["details"]["air_temperature"])
        yield Reading(at, at + _HOUR, now_c, now_c)
        ahead = data.get("next_6_hours", {}).get("details", {})
        if "air_temperature_min" in ahead and "air_temperature_max" in ahead:
            low, high = _celsius(ahead["air_temperature_min"]), _celsius(ahead["air_temperature_max"])
            if low > high:
                raise ValueError("a low above its high")
            yield Reading(at, at + 6 * _HOUR, low, high)


def _celsius(value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise ValueError("not a number")
    if not (math.isfinite(value) and _LEAST_C <= value <= _MOST_C):
        raise ValueError("no temperature of this world")
    return float(value)
