"""First days outdoors, brood mixing and travel against sources our rules were not taken from."""

import pytest

from farm.husbandry import outdoors
from farm.trade.load import programmes
from farm.trade.mixing import mixing


@pytest.mark.parametrize(
    "day, afternoon_c, out", [(20, 15, False), (24, 15, False), (28, 15, True), (24, 21, True)]
)
def test_chickens_go_out_at_four_weeks_or_earlier_on_a_warm_afternoon(day, afternoon_c, out):
    """Hand-Rearing Birds, 2nd ed. [HRB]: indoors to 4-5 weeks, or until outside is 21 °C (70 °F) or more."""
    for key in ("chicken_layer_brown", "chicken_layer_white", "chicken_dual", "chicken_meat"):
        assert (day >= outdoors.first_day_out(programmes()[key], afternoon_c)) == out, key


def test_turkeys_are_refused_in_chicken_housing_with_the_reason():
    """Univ. of Maine, Anderson on turkeys, 2019 [UMAINE-N]: turkeys are not kept with chickens."""
    rule = mixing().apart("turkey", "chicken", brooding=False)
    assert rule is not None
    assert "blackhead" in rule.text
