"""What to expect of coming days: the forecast while it knows more than the climate."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import norm

from farm.husbandry.climate import Climate, MonthlyClimate
from farm.husbandry.outlook import Forecast, Outlook

TODAY = date(2026, 3, 1)
DAYS = [TODAY + timedelta(days=i) for i in range(1, 15)]
CLIMATE = Climate(MonthlyClimate((5.0,) * 12, (4.0,) * 12, (15.0,) * 12, (5.0,) * 12))
STEADY = Climate(MonthlyClimate((5.0,) * 12, (1.0,) * 12, (15.0,) * 12, (1.0,) * 12))


def forecast(low, days=DAYS):
    return Forecast(TODAY, dict.fromkeys(days, low), dict.fromkeys(days, low + 12))


def test_without_a_forecast_the_climate_holds():
    for made in (None, Forecast(TODAY)):
        found = Outlook(CLIMATE, made).chance_low_at_least(DAYS, 3)
        assert found == pytest.approx(CLIMATE.chance_low_at_least(DAYS, 3))


def test_tomorrows_forecast_holds_with_its_own_error():
    """Two degrees of error tomorrow, a project default; scipy's normal law is the judge."""
    outlook = Outlook(CLIMATE, forecast(-1.0))
    assert outlook.chance_low_at_least(DAYS[:1], -2)[0] == pytest.approx(norm.sf(-2, -1, 2))
    assert outlook.chance_high_at_least(DAYS[:1], 13)[0] == pytest.approx(norm.sf(13, 11, 2))


def test_a_forecast_is_surer_of_tomorrow_than_of_next_week():
    chances = Outlook(CLIMATE, forecast(6.0)).chance_low_at_least(DAYS[:5], 4)
    assert (chances[:-1] > chances[1:]).all()


def test_a_forecast_further_ahead_than_it_can_see_does_not_count():
    """Its error passes the climate's spread of 4 degrees after the sixth day."""
    found = Outlook(CLIMATE, forecast(-20.0)).chance_low_at_least(DAYS, 3)
    usual = CLIMATE.chance_low_at_least(DAYS, 3)
    assert (found[:5] < 0.001).all()
    assert found[6:] == pytest.approx(usual[6:])


def test_where_every_night_is_alike_the_climate_knows_more():
    found = Outlook(STEADY, forecast(-20.0)).chance_low_at_least(DAYS, 3)
    assert found == pytest.approx(STEADY.chance_low_at_least(DAYS, 3))


def test_a_day_the_forecast_leaves_out_is_the_climates():
    made = forecast(-20.0, days=[DAYS[0], DAYS[2]])
    found = Outlook(CLIMATE, made).chance_low_at_least(DAYS[:3], 3)
    assert found[1] == pytest.approx(CLIMATE.chance_low_at_least(DAYS[1], 3))
    assert found[0] < 0.01 > found[2]


@given(ahead=st.integers(-3, 40))
def test_the_error_of_a_forecast_never_falls(ahead):
    made, day = forecast(0.0), TODAY + timedelta(days=ahead)
    assert 2 <= made.error_c(day) <= made.error_c(day + timedelta(days=1))
