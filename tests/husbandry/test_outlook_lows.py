"""The quantiles of coming lows belong to the chances: what one says, the other says back."""

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.husbandry.climate import Climate, MonthlyClimate
from farm.husbandry.outlook import Forecast, Outlook

CLIMATE = Climate(MonthlyClimate((2.0,) * 12, (5.0,) * 12, (12.0,) * 12, (5.0,) * 12))
TODAY = date(2031, 5, 1)
DAYS = [TODAY + timedelta(days=n) for n in range(20)]


@given(st.lists(st.floats(-20, 20), max_size=15), st.floats(0.02, 0.98))
def test_a_low_is_above_its_quantile_with_the_chance_left(lows, q):
    told = Forecast(TODAY, dict(zip(DAYS[1:], lows, strict=False)))
    found = Outlook(CLIMATE, told)
    np.testing.assert_allclose(found.chance_low_at_least(DAYS, found.low_quantile(DAYS, q)), 1 - q, atol=1e-6)


def test_a_forecast_counts_until_it_errs_as_much_as_the_climate_strays():
    told = Forecast(TODAY, dict.fromkeys(DAYS[1:], 9.0))
    counts = Outlook(CLIMATE, told).foretold(DAYS).tolist()
    assert counts[0] is False
    assert counts[1] is True
    assert counts[-1] is False
    assert counts == sorted(counts[:1]) + sorted(counts[1:], reverse=True)
    assert not Outlook(CLIMATE).foretold(DAYS).any()


def test_without_a_forecast_the_quantiles_are_the_climates():
    assert Outlook(CLIMATE).low_quantile(DAYS, 0.1) == pytest.approx(CLIMATE.low_quantile(DAYS, 0.1))
