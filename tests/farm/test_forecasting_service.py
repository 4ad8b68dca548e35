"""Forecasts by the farm's own days, what is kept of them, and what a new one sets going."""

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest

from farm.errors import NotFound
from farm.models import Farm, Forecast
from farm.queries import forecasts
from farm.queries import weather as read
from farm.services import forecasting, weather
from farm.services.forecasts import Got, NoForecast, Reading
from tests.conftest import NOON, TODAY
from tests.farm.weather_world import STILL, day, forecast, settle

BERLIN = ZoneInfo("Europe/Berlin")
HOUR = timedelta(hours=1)


@dataclass
class Told:
    """A service that says what it is told to."""

    readings: tuple = ()
    failure: NoForecast | None = None
    asked: int = 0

    def fetch(self, latitude, longitude, now):
        self.asked += 1
        if self.failure:
            raise self.failure
        return Got(self.readings)


def hours(first, count, temp=lambda at: 10.0):
    return tuple(
        Reading(at, at + HOUR, temp(at), temp(at)) for at in (first + HOUR * i for i in range(count))
    )


@pytest.fixture
def asking(world, settings):
    settings.FORECAST_CONTACT = "ada@example.org"
    settle(world)
    weather.prefer(world.by, expected_version=None, confidence=0.9, use_forecast=True)
    return world


def test_a_days_low_and_high_are_those_of_the_farms_own_day():
    # 22:30 UTC is half past midnight in Berlin's summer
    first = datetime(2026, 5, 1, 22, tzinfo=UTC)
    cold, warm = datetime(2026, 5, 2, 3, tzinfo=UTC), datetime(2026, 5, 2, 13, tzinfo=UTC)
    found = forecasting.by_day(
        hours(first, 24, lambda at: {cold: 2.0, warm: 19.0}.get(at, 10.0)), BERLIN, TODAY
    )
    assert found == {"2026-05-02": [2.0, 19.0]}


def test_a_day_whose_night_is_over_has_no_low_and_one_without_afternoon_no_high():
    noon = datetime(2026, 5, 1, 10, tzinfo=UTC)
    found = forecasting.by_day(hours(noon, 20), BERLIN, TODAY)
    assert found == {"2026-05-01": [None, 10.0], "2026-05-02": [10.0, None]}


def test_single_hours_six_hours_apart_are_no_nights_low():
    first = datetime(2026, 5, 1, 22, tzinfo=UTC)
    sparse = tuple(each for each in hours(first, 48) if each.at.hour % 6 == 0)
    assert forecasting.by_day(sparse, BERLIN, TODAY) == {}


def test_six_hour_ranges_cover_a_day_but_one_over_midnight_speaks_for_neither_side():
    first = datetime(2026, 5, 1, 18, tzinfo=UTC)  # 20:00 in Berlin: over midnight
    ranges = tuple(
        Reading(at, at + 6 * HOUR, low, 15.0)
        for at, low in (
            (first, -9.0),
            (first + 6 * HOUR, 3.0),
            (first + 12 * HOUR, 8.0),
            (first + 18 * HOUR, 9.0),
        )
    )
    assert forecasting.by_day(ranges, BERLIN, TODAY) == {"2026-05-02": [3.0, 15.0]}


def test_days_that_have_passed_are_never_foretold():
    first = datetime(2026, 4, 29, 22, tzinfo=UTC)
    assert list(forecasting.by_day(hours(first, 72), BERLIN, TODAY)) == ["2026-05-01", "2026-05-02"]


def test_what_was_foretold_of_days_gone_by_stays_and_grows_old(asking):
    old = {(TODAY - timedelta(days=n)).isoformat(): [float(n), None] for n in (1, 60, 61)}
    Forecast.objects.create(farm=asking.farm, days=old, made_on=day(-1), fetched_at=NOON)
    forecasting.fetch(farm_id=asking.farm.pk, now=NOON, provider=Told(hours(NOON, 48)))
    kept = Forecast.objects.get().days
    assert {day(-1).isoformat(), day(-60).isoformat(), day(1).isoformat()} <= set(kept)
    assert day(-61).isoformat() not in kept


def test_this_mornings_low_is_not_forgotten_at_noon(asking):
    Forecast.objects.create(
        farm=asking.farm, days={TODAY.isoformat(): [1.5, 12.0]}, made_on=TODAY, fetched_at=NOON
    )
    forecasting.fetch(farm_id=asking.farm.pk, now=NOON, provider=Told(hours(NOON, 30)))
    assert Forecast.objects.get().days[TODAY.isoformat()] == [1.5, 10.0]


def test_a_failure_leaves_what_the_farm_reads_as_it_was(asking):
    forecast(asking, {1: 5.0})
    before = read.outlook(asking.farm)
    told = Told(failure=NoForecast("failed"))
    assert not forecasting.fetch(farm_id=asking.farm.pk, now=NOON, provider=told)
    assert (read.outlook(asking.farm), told.asked) == (before, 1)


def test_the_farms_version_rises_only_when_a_date_moves(asking):
    asking.add_batch("Greys", age=42, housing="Brooder 1")
    weather.enter(asking.by, months=STILL | {"low_mean_c": [26.0] * 12, "low_sd_c": [8.0] * 12})
    version = Farm.objects.get(pk=asking.farm.pk).version
    mild = Told(hours(NOON, 72, lambda at: 26.0))
    forecasting.fetch(farm_id=asking.farm.pk, now=NOON, provider=mild)
    assert Farm.objects.get(pk=asking.farm.pk).version == version
    frost = Told(hours(NOON, 72, lambda at: -15.0))
    forecasting.fetch(farm_id=asking.farm.pk, now=NOON + timedelta(hours=1), provider=frost)
    assert Farm.objects.get(pk=asking.farm.pk).version == version + 1


def test_two_workers_at_once_ask_once(asking):
    inner = Told(hours(NOON, 48))

    class Slow:
        def fetch(self, *place):
            # while this one waits for its answer, another worker comes by
            assert not forecasting.fetch(farm_id=asking.farm.pk, now=NOON, provider=inner)
            return Got(hours(NOON, 48))

    assert forecasting.fetch(farm_id=asking.farm.pk, now=NOON, provider=Slow())
    assert inner.asked == 0


def test_a_farm_that_is_gone_is_not_found(db):
    with pytest.raises(NotFound):
        forecasting.fetch(farm_id=404, now=NOON)


@pytest.mark.parametrize("hours_ago, stale", [(23, False), (24, False), (25, True)])
def test_a_forecast_older_than_a_day_is_stale(asking, hours_ago, stale):
    forecast(asking, {1: 5.0}, fetched_at=NOON - timedelta(hours=hours_ago))
    shown = forecasts.shown(asking.farm, read.stored(asking.farm), NOON)
    assert (shown.stale, shown.asked, shown.able, shown.why) == (stale, True, True, None)


def test_each_way_to_fail_has_words(asking):
    for why in forecasts.WHY:
        Forecast.objects.update_or_create(farm=asking.farm, defaults={"error": why})
        assert str(forecasts.shown(asking.farm, None, NOON).why)
