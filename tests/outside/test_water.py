"""Water against state manuals and a journal equation; our curve is from another handbook."""

import numpy as np
import pytest

from farm.husbandry import rations, water
from farm.trade.load import programmes


def test_hens_in_full_lay_drink_within_the_provincial_band():
    """Poultry Industry Council Ontario, extreme temperatures [ONT]: hens 18-32 L per 100 a day, at 20 °C."""
    assert 18 <= 100 * water.water_l(programmes()["chicken_layer_brown"], 182, "sexed_female") <= 32


def test_growing_pullets_drink_within_the_provincial_band():
    """Poultry Industry Council Ontario, extreme temperatures [ONT]: pullets 3-18 L per 100 a day."""
    litres = 100 * water.water_l(programmes()["chicken_layer_brown"], np.arange(28, 100), "sexed_female")
    assert litres.min() >= 3
    assert litres.max() <= 18


def test_growing_turkeys_average_the_manuals_figure():
    """Univ. of Kentucky, Poultry Manual ch. 12 [UKY12]: hen turkeys 38, toms 55, mean 46.5 L per 100, days
    0-139; +-35 %."""
    litres = 100 * water.water_l(programmes()["turkey_large"], np.arange(140))
    assert litres.mean() == pytest.approx(46.5, rel=0.35)


def test_meat_chickens_drink_about_twice_their_feed_in_weeks_three_to_eight():
    """Univ. of Kentucky, Poultry Manual ch. 12 [UKY12]: water is 2 x feed by weight; +-20 % week by week."""
    meat = programmes()["chicken_meat"]
    for week in range(2, 8):
        days = np.arange(7 * week, 7 * week + 7)
        ratio = 1000 * water.water_l(meat, days).sum() / rations.feed_g(meat, days).sum()
        assert ratio == pytest.approx(2.0, rel=0.20), f"week {week + 1}"


def test_meat_chickens_drink_at_least_what_an_older_strain_was_measured_at():
    """Poultry Sci. 64:803, 1985 [PESTI1985]: 5.28 mL x age in days; 1.0 to 2.2 times that, days 14-56."""
    days = np.arange(14, 57)
    ratio = 1000 * water.water_l(programmes()["chicken_meat"], days) / (5.28 * days)
    assert ratio.min() >= 1.0
    assert ratio.max() <= 2.2
