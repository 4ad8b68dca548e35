"""Light by age and the length of days against handbooks, almanacs and another library.

Our sun comes from ephem (VSOP87); astral, the judge here, has other formulas: the NOAA solar calculator's, after Meeus.
"""

from datetime import UTC, date, datetime, timedelta, timezone

import numpy as np
import pytest
from astral import Observer
from astral.sun import sunrise, sunset

from farm.husbandry.growth import FEMALE
from farm.husbandry.lay import point_of_lay
from farm.husbandry.light.programme import Lit, wanted_hours
from farm.husbandry.light.sun import day_length_h, sun_times
from farm.trade.load import programmes

EST = timezone(timedelta(hours=-5))
LAYERS = ("chicken_layer_white", "chicken_layer_brown")
each_layer = pytest.mark.parametrize("key", LAYERS)


def hours_and_minutes(text: str) -> float:
    hours, minutes = text.split(":")
    return int(hours) + int(minutes) / 60


def closed(key: str) -> np.ndarray:
    hours = wanted_hours(Lit(programmes()[key], FEMALE, date(2026, 3, 1), 45.0, closed=True), 500)
    assert hours is not None
    return hours


@each_layer
def test_pullets_in_a_closed_house_see_no_longer_day_before_fourteen_weeks(key):
    """Encyclopedia of Animal Science, Light Management [ENCYC-L]: no increase in the first 14 weeks."""
    assert np.diff(closed(key)[:98]).max() <= 0


@each_layer
def test_thirty_week_hens_have_the_day_they_should(key):
    """Michigan State Univ. Ext. [MICH2019]: 14-16 h from 16 weeks on, up by an hour a week; reached by 30 weeks."""
    assert 14 <= closed(key)[210] <= 16


@each_layer
def test_the_longest_day_in_lay_is_fifteen_hours_and_none_is_shorter_than_the_one_before(key):
    """Northern Territory Agnote J57 [NT2010]: 15 h a day is best. [ENCYC-L]: never shorter in lay."""
    in_lay = closed(key)[point_of_lay(programmes()[key]) :]
    assert in_lay.max() == 15
    assert np.diff(in_lay).min() >= 0


def test_point_of_lay_is_when_hens_were_seen_to_begin():
    """British Columbia Agriculture, 2014 [BC2014]: 18-21 weeks; [KLING1985]: a brown cross ad lib 19.4 weeks, +-1."""
    white, brown = (point_of_lay(programmes()[key]) / 7 for key in LAYERS)
    assert 18 <= white <= 21
    assert brown == pytest.approx(19.4, abs=1)


@pytest.mark.parametrize(
    "day, printed",
    [(date(2007, 6, 21), "14:47"), (date(2007, 12, 21), "9:33"), (date(2007, 3, 5), "11:31")],
)
def test_days_in_san_francisco_are_as_long_as_the_almanac_says(day, printed):
    """US Naval Observatory [USNO]: 37.8 N 122.4 W, 2007: longest, shortest, 5 March; +-2 min."""
    assert day_length_h(37.8, day) == pytest.approx(hours_and_minutes(printed), abs=2 / 60)


def test_the_longest_and_shortest_day_of_san_francisco_are_the_almanacs():
    """US Naval Observatory [USNO]: 14:47 and 9:33 in 2007; +-2 min."""
    year = [day_length_h(37.8, date(2007, 1, 1) + timedelta(days=n)) for n in range(365)]
    assert max(year) == pytest.approx(hours_and_minutes("14:47"), abs=2 / 60)
    assert min(year) == pytest.approx(hours_and_minutes("9:33"), abs=2 / 60)


@pytest.mark.parametrize("west, up, down", [(77.0, "06:12", "18:21"), (74.9, "06:04", "18:12")])
def test_the_sun_is_up_and_down_when_the_almanac_says(west, up, down):
    """US Naval Observatory [USNO]: Washington and Cape May, 38.9 N, 20 March 2002 EST; +-2 min."""
    sun = sun_times(38.9, -west, date(2002, 3, 20), EST)
    for ours, printed in ((sun.rises, up), (sun.sets, down)):
        theirs = datetime.strptime(f"2002-03-20 {printed}", "%Y-%m-%d %H:%M").replace(tzinfo=EST)
        assert abs(ours - theirs) <= timedelta(minutes=2)


@pytest.mark.parametrize("day, printed", [(1, "13:09"), (10, "12:43"), (22, "12:09"), (30, "11:45")])
def test_september_days_in_decorah_are_as_long_as_the_college_prints(day, printed):
    """Luther College, September sunrise and sunset table [LUTHER]: 43.3 N 91.8 W; +-2 min. It names no year, and
    leap years move these days by up to 2 min: the mean of four years on end."""
    years = [sun_times(43.3, -91.8, date(year, 9, day), UTC).hours for year in range(2021, 2025)]
    assert sum(years) / 4 == pytest.approx(hours_and_minutes(printed), abs=2 / 60)


@pytest.mark.parametrize(
    "north, june, december", [(30, "14:04", "10:12"), (40, "15:00", "9:19"), (50, "16:22", "8:04")]
)
def test_midsummer_and_midwinter_days_are_as_long_as_astral_says(north, june, december):
    """astral 3.2: 20 June and 21 December 2024; +-2 min."""
    assert day_length_h(north, date(2024, 6, 20)) == pytest.approx(hours_and_minutes(june), abs=2 / 60)
    assert day_length_h(north, date(2024, 12, 21)) == pytest.approx(hours_and_minutes(december), abs=2 / 60)


@pytest.mark.parametrize("latitude", [-60, -45, -20, 0, 15, 37, 52, 60])
@pytest.mark.parametrize("longitude", [-150, -74, 0, 13.4, 170])
def test_rising_and_setting_all_year_are_as_another_library_has_them(latitude, longitude):
    """astral 3.2, every 13th day of 2025: both within 2 minutes."""
    zone = timezone(timedelta(hours=round(longitude / 15)))
    for number in range(0, 365, 13):
        day = date(2025, 1, 1) + timedelta(days=number)
        ours = sun_times(latitude, longitude, day, zone)
        place = Observer(latitude, longitude)
        assert abs(ours.rises - sunrise(place, date=day, tzinfo=zone)) <= timedelta(minutes=2), day
        assert abs(ours.sets - sunset(place, date=day, tzinfo=zone)) <= timedelta(minutes=2), day
