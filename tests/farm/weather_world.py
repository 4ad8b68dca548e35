"""A farm with a climate: cool nights in May, mild from July, and forecasts as they are stored. Invented numbers."""

from __future__ import annotations

from datetime import date, timedelta

from farm.models import Forecast, Weather
from farm.services import farms, weather
from tests.conftest import NOON, TODAY, World

LOWS = [-4.0, -3.0, 0.0, 3.0, 7.0, 11.0, 13.0, 13.0, 10.0, 6.0, 1.0, -2.0]
HIGHS = [2.0, 4.0, 9.0, 14.0, 19.0, 22.0, 24.0, 24.0, 19.0, 13.0, 7.0, 3.0]
#: As settled as a desert: no night strays.
STILL = {
    "low_mean_c": [18.0] * 12,
    "low_sd_c": [0.5] * 12,
    "high_mean_c": [28.0] * 12,
    "high_sd_c": [0.5] * 12,
}


def months(**changed: list[float]) -> dict[str, list[float]]:
    return {
        "low_mean_c": LOWS,
        "low_sd_c": [3.5] * 12,
        "high_mean_c": HIGHS,
        "high_sd_c": [4.0] * 12,
    } | changed


def settle(world: World, **changed: list[float]) -> Weather:
    """Give the farm a climate and a place."""
    farms.change(world.by, latitude=52.5, longitude=13.4)
    world.farm.refresh_from_db()
    return weather.enter(world.by, months=months(**changed))


def forecast(
    world: World, lows: dict[int, float], highs: dict[int, float] | None = None, **fields
) -> Forecast:
    """Store a fresh forecast; keys are days from TODAY."""
    highs = highs or {}
    weather.prefer(world.by, expected_version=None, confidence=0.9, use_forecast=True)
    days = {day(n).isoformat(): [lows.get(n), highs.get(n)] for n in sorted({*lows, *highs})}
    values = {"days": days, "made_on": TODAY, "fetched_at": NOON} | fields
    return Forecast.objects.update_or_create(farm=world.farm, defaults=values)[0]


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)
