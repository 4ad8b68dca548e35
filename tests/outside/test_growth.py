"""Body weights against tables and trials that are not in our growth tables."""

import math

import pytest

from farm.husbandry.growth import FEMALE, MALE, STRAIGHT_RUN, weight_g
from farm.trade.load import programmes

#: National Research Council, Nutrient Requirements of Poultry, 8th ed., 1984 [NRC1984]: g at weeks 1 to 9.
NRC1984 = {
    MALE: (130, 320, 560, 860, 1250, 1690, 2100, 2520, 2925),
    FEMALE: (120, 300, 515, 790, 1110, 1430, 1745, 2060, 2350),
}


def grams(key: str, day: int, sex: str = STRAIGHT_RUN) -> float:
    return float(weight_g(programmes()[key], day, sex))


@pytest.mark.parametrize("sex", [MALE, FEMALE])
def test_meat_chickens_outgrow_the_birds_of_1984_every_week(sex):
    """National Research Council, 1984 [NRC1984]: heavier each week; 1.4-1.8 times as heavy at day 42."""
    for week, old in enumerate(NRC1984[sex], start=1):
        assert grams("chicken_meat", 7 * week, sex) > old, week
    assert 1.4 <= grams("chicken_meat", 42, sex) / NRC1984[sex][5] <= 1.8


@pytest.mark.parametrize("day, kg", [(112, 1.64), (140, 1.52)])
def test_brown_pullets_are_near_a_measured_brown_cross(day, kg):
    """Kling, Poultry Sci. 64:1050, 1985 [KLING1985]: ad lib 1.64 kg at 16 weeks, restricted 1.52 at 20; +-20 %."""
    assert grams("chicken_layer_brown", day, FEMALE) / 1000 == pytest.approx(kg, rel=0.20)


def test_layer_cockerels_are_near_an_organic_trial_at_15_weeks():
    """Fattening cockerels, organic trial [COCKEREL]: 15.9 g a day to 15 weeks = 1.71 kg; +-15 %."""
    assert grams("chicken_layer_brown", 105, MALE) / 1000 == pytest.approx(1.71, rel=0.15)


@pytest.mark.parametrize("day, kg", [(84, 1.28), (126, 1.81), (140, 1.91)])
def test_layer_cockerels_follow_a_published_growth_law(day, kg):
    """Growth parameters, table 1 [PARKS]: 2.2 kg x exp(-exp(-0.0239 (t - 58))); +-15 %."""
    assert 2.2 * math.exp(-math.exp(-0.0239 * (day - 58))) == pytest.approx(kg, abs=0.01)
    assert grams("chicken_layer_brown", day, MALE) / 1000 == pytest.approx(kg, rel=0.15)


@pytest.mark.parametrize("week, kg", [(12, 4.76), (21, 9.17)])
def test_large_turkeys_are_near_measured_hens(week, kg):
    """Poultry Sci., Growth, Feed Conversions and Yields of Hen Turkeys [PS-HEN]; +-15 %."""
    assert grams("turkey_large", 7 * week) / 1000 == pytest.approx(kg, rel=0.15)


def test_large_turkeys_stay_below_modern_strains_at_18_weeks():
    """Encyclopedia of Animal Science, Turkeys [ENCYC-T]: hen 9.9, tom 15.2 kg, upper bounds: mean at most 12.5."""
    assert grams("turkey_large", 126) / 1000 <= 12.5


def test_geese_are_near_white_romans_at_13_weeks():
    """Lin, Animal Bioscience 33(9), 2020 [LIN2020]: 4.82-5.22 kg; +-12 %."""
    assert 4.82 * 0.88 <= grams("goose", 91) / 1000 <= 5.22 * 1.12


def test_pekins_are_near_the_commonly_told_weight_at_six_weeks():
    """Common practice, no source: Pekin 3.6 kg at day 42; +-25 %."""
    assert grams("duck", 42) / 1000 == pytest.approx(3.6, rel=0.25)


def test_meat_quail_level_off_where_fortnightly_weights_do():
    """Sharma et al., fortnightly quail weights, J. Anim. Res. 11(5), 2021 [SHARMA2021]: plateau 189-217 g."""
    assert 189 <= grams("quail_meat", 84) <= 217
