"""Expected losses against a veterinary journal and an extension bulletin."""

from farm.husbandry import survival
from farm.trade.load import programmes


def test_chick_losses_by_day_ten_lie_between_good_and_badly_held_hatches():
    """Kingston, Aust. Vet. J. 55:418, 1979 [KINGSTON1979]: to day 10, 1.2 % (well timed) to 5.6 %."""
    for key in ("chicken_meat", "chicken_layer_white", "chicken_layer_brown", "chicken_dual"):
        assert 0.012 <= 1 - survival.surviving_share(programmes()[key], 10) <= 0.056, key


def test_poult_losses_by_six_weeks_leave_the_birds_raised_to_market():
    """Cornell Ext. Bulletin 884 [CORNELL884]: 85-90 % raised to market, so at most 15 % lost by day 42."""
    for key in ("turkey_large", "turkey_medium"):
        assert 1 - survival.surviving_share(programmes()[key], 42) <= 0.15, key
