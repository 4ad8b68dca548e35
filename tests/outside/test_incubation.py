"""Days of a hatch against a university's incubation guide."""

from datetime import date, timedelta

from farm.husbandry import incubation
from farm.trade.general import figure
from farm.trade.load import programmes

SET_DAY = date(2026, 3, 1)


def test_chicken_eggs_set_on_1_march_hatch_on_22_march():
    """Virginia Tech, Science of Incubation [VT-INC]: 21 days."""
    hen = programmes()["chicken_layer_brown"]
    assert SET_DAY + timedelta(days=incubation.hatch_after_days(hen)) == date(2026, 3, 22)


def test_their_last_turn_is_on_18_or_19_march_and_none_in_the_last_three_days():
    """Virginia Tech, Science of Incubation [VT-INC]: turned until three days before the hatch."""
    turns = [
        SET_DAY + timedelta(days=day) for day in incubation.turning_days(programmes()["chicken_layer_brown"])
    ]
    assert turns[-1] in (date(2026, 3, 18), date(2026, 3, 19))
    assert all(date(2026, 3, 22) - turn > timedelta(days=3) for turn in turns)


def test_setter_and_hatcher_run_inside_the_guides_bands():
    """Virginia Tech [VT-INC], Penn State 4-H [PSU-4H]: 37.2-38.3 °C; setter RH 60 +-5 %, hatcher 65-70 %."""
    assert 37.2 <= figure("incubation", "setter_c") <= 38.3
    assert 60 - 5 <= figure("incubation", "setter_rh") <= 60 + 5
    assert 65 <= figure("incubation", "hatcher_rh") <= 70
