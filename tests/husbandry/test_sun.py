"""The sun's own symmetries: what must hold at any place on any day, whoever reckons it."""

from datetime import UTC, date, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.light.sun import day_length_h, sun_times

DAYS = st.dates(date(2000, 1, 1), date(2060, 12, 31))
ZONES = st.sampled_from(["UTC", "Europe/Berlin", "America/Los_Angeles", "Pacific/Kiritimati", "Asia/Kolkata"])


@given(st.floats(-60, 60), st.floats(-180, 180), DAYS, ZONES)
def test_the_sun_rises_before_it_sets_around_a_noon_of_that_day(latitude, longitude, day, zone):
    sun = sun_times(latitude, longitude, day, ZoneInfo(zone))
    assert timedelta() < sun.sets - sun.rises < timedelta(hours=24)
    assert (sun.sets.astimezone(UTC) - sun.rises.astimezone(UTC)) / timedelta(hours=1) == pytest.approx(
        sun.hours
    )
    noon = sun.rises.astimezone(UTC) + timedelta(hours=sun.hours / 2)
    assert abs(noon.astimezone(ZoneInfo(zone)).date() - day) <= timedelta(days=1)
    assert sun.rises.utcoffset() == sun.rises.astimezone(ZoneInfo(zone)).utcoffset()


@given(st.floats(0, 60), DAYS)
def test_north_and_south_share_out_the_day_but_for_the_air_that_bends_light(latitude, day):
    both = day_length_h(latitude, day) + day_length_h(-latitude, day)
    assert 24 < both < 24.8


@given(st.floats(-60, 60), st.floats(-180, 180), DAYS)
def test_a_day_is_as_long_at_every_longitude(latitude, longitude, day):
    assert sun_times(latitude, longitude, day, UTC).hours == pytest.approx(
        day_length_h(latitude, day), abs=0.12
    )


@given(st.floats(30, 60), st.floats(0.5, 5), st.integers(2000, 2060))
def test_summer_days_grow_longer_toward_the_pole_and_winter_days_shorter(latitude, further, year):
    assert day_length_h(latitude + further, date(year, 6, 21)) > day_length_h(latitude, date(year, 6, 21))
    assert day_length_h(latitude + further, date(year, 12, 21)) < day_length_h(latitude, date(year, 12, 21))


def test_where_the_sun_stays_up_or_down_there_is_no_rising():
    summer, winter = (sun_times(78, 15, date(2026, month, 21), UTC) for month in (6, 12))
    assert (summer.rises, summer.sets, summer.hours) == (None, None, 24)
    assert (winter.rises, winter.sets, winter.hours) == (None, None, 0)


def test_a_place_across_the_date_line_keeps_its_own_calendar():
    sun = sun_times(1.9, -157.4, date(2026, 3, 5), ZoneInfo("Pacific/Kiritimati"))
    assert sun.rises.date() == sun.sets.date() == date(2026, 3, 5)


@pytest.mark.parametrize("latitude, longitude", [(91, 0), (-91, 0), (0, 181), (0, -181), (float("nan"), 0)])
def test_a_place_that_is_not_on_earth_is_refused(latitude, longitude):
    with pytest.raises(ValueError, match="latitude must be"):
        sun_times(latitude, longitude, date(2026, 3, 5), UTC)
