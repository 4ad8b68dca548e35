"""Eggs, from storage to the posted box, against guides and a statute that none of our figures were taken from.

Kinds: handbook table or paper (H), statute or official rule (S), common practice (P).
"""

from datetime import UTC, date, datetime, timedelta

import pytest

from farm.husbandry import incubation
from farm.husbandry.humidity import rh_from_bulbs
from farm.trade.eggs import egg_kind
from farm.trade.load import programmes

SET_DAY = date(2026, 3, 1)
HEN = programmes()["chicken_layer_brown"]
#: programme -> first and last day of its hatch in two lists that share no author.
LISTS = [
    ("chicken_dual", (21, 21), (21, 21)),
    ("turkey_large", (28, 28), (28, 28)),
    ("duck", (28, 28), (28, 28)),
    ("duck_muscovy", (35, 35), (33, 35)),
    ("goose", (28, 33), (29, 31)),
    ("quail_layer", (16, 18), (17, 18)),
    ("guinea", (27, 28), (26, 28)),
    ("pheasant", (24, 26), (23, 24)),
]


def test_chicken_eggs_set_on_1_march_hatch_on_22_march():
    """Virginia Tech, Science of Incubation [VT-INC], H: 21 days."""
    assert incubation.incubation(HEN, SET_DAY).hatch_day == date(2026, 3, 22)


def test_their_last_turn_is_on_18_or_19_march_and_none_in_the_last_three_days():
    """Virginia Tech, Science of Incubation [VT-INC], H: turned until three days before the hatch."""
    days = incubation.incubation(HEN, SET_DAY)
    last_turn = days.lockdown - timedelta(days=1)
    assert last_turn in (date(2026, 3, 18), date(2026, 3, 19))
    assert days.hatch_day - last_turn > timedelta(days=3)


@pytest.mark.parametrize("key, listed, passed_on", LISTS)
def test_every_species_hatches_inside_a_magazines_list(key, listed, passed_on):
    """Poultry Producer, Incubation Period of Other Species [POULTRYPRODUCER], H: inside its range."""
    assert listed[0] <= incubation.hatch_after_days(programmes()[key]) <= listed[1]


@pytest.mark.parametrize("key, listed, passed_on", LISTS)
def test_every_species_hatches_inside_the_list_keepers_pass_on(key, listed, passed_on):
    """Common practice, no source, P: the list for small incubators; inside its range."""
    assert passed_on[0] <= incubation.hatch_after_days(programmes()[key]) <= passed_on[1]


@pytest.mark.parametrize("key, listed, passed_on", LISTS)
def test_the_days_known_for_a_species_reach_no_further_than_a_day_beyond_both_lists(key, listed, passed_on):
    """Both lists, H and P: earliest and latest day, +-1; Muscovy +2 and goose +-1, whose strains differ most."""
    days = incubation.incubation(programmes()[key], SET_DAY)
    first, last = (days.hatch_first - SET_DAY).days, (days.hatch_last - SET_DAY).days
    late = 2 if key == "duck_muscovy" else 1
    assert min(listed[0], passed_on[0]) - 1 <= first
    assert last <= max(listed[1], passed_on[1]) + late


@pytest.mark.parametrize("key, listed, passed_on", LISTS)
def test_turning_stops_three_or_four_days_before_the_hatch(key, listed, passed_on):
    """Raising Poultry, reference book [RAISING], H: turning stops three to four days before hatching."""
    days = incubation.incubation(programmes()[key], SET_DAY)
    assert timedelta(days=3) <= days.hatch_day - days.lockdown <= timedelta(days=4)


def test_eggs_are_candled_in_the_first_week_and_at_transfer():
    """Raising Poultry, reference book [RAISING], H: on day 7 and when they go to the hatcher."""
    days = incubation.incubation(HEN, SET_DAY)
    assert {SET_DAY + timedelta(days=7), days.lockdown} <= set(days.candlings)


def test_eggs_are_turned_three_to_five_times_a_day_and_never_in_the_hatcher():
    """Virginia Tech [VT-INC], H: 3-5 times a day, none in the last 3 days."""
    assert 3 <= incubation.climate("chicken", "forced", False).turns_a_day <= 5
    assert incubation.climate("chicken", "forced", True).turns_a_day == 0


@pytest.mark.parametrize("hatching", [False, True])
def test_setter_and_hatcher_stay_inside_the_guides_temperatures(hatching):
    """Virginia Tech [VT-INC], Penn State 4-H [PSU-4H], H: 37.2-38.3 °C; swings within 36.1-38.9 are tolerable."""
    found = incubation.climate("chicken", "forced", hatching)
    assert 37.2 <= found.temp_c <= 38.3
    assert 36.1 <= found.low_c < found.high_c <= 38.9


def test_setter_and_hatcher_humidity_is_the_guides():
    """Virginia Tech [VT-INC], Penn State 4-H [PSU-4H], H: setter 60 +-5 %, hatcher 65-70 %."""
    assert 60 - 5 <= incubation.climate("chicken", "forced", False).rh <= 60 + 5
    assert 65 <= incubation.climate("chicken", "forced", True).rh <= 70


def test_a_wet_bulb_of_30_beside_37_and_a_half_means_58_percent():
    """Common practice, no source, P: 57.5 +-1.5 % at 37.5 °C dry, 30.0 °C wet, 101.3 kPa."""
    assert rh_from_bulbs(37.5, 30.0, 101.3) == pytest.approx(57.5, abs=1.5)


@pytest.mark.parametrize(
    "species, low, high", [("turkey", 0.52, 0.722), ("goose", 0.45, 0.65), ("quail", 0.57, 0.705)]
)
def test_hatch_rates_lie_where_surveys_found_them(species, low, high):
    """Turkeys: surveys 1942-43 [TURK1943], Kazakh Agrotechnical Univ. [KAZ]; geese [KAZ], published .552-.646, a farm
    may do worse; quail: Egypt. Poult. Sci. [NG-QUAIL], fertility x hatchability to hatchability. All H.
    """
    assert low <= incubation.hatch_rate(species, 0) <= high


def test_quail_eggs_are_as_fertile_as_a_paper_found():
    """Japanese quail in a humid environment [NG-QUAIL], H: fertility .807; +-.05."""
    assert egg_kind("quail").fertility == pytest.approx(0.807, abs=0.05)


@pytest.mark.parametrize("hours, caution", [(24, False), (72, False), (73, True)])
def test_posted_chicks_come_within_three_days_of_the_hatch(hours, caution):
    """USPS, Shipping Chicks [USPS-CHICK], S: 72 hours without food or water in the box; 73 is too long."""
    assert incubation.travel_caution(hours) is caution


def test_a_chicks_first_feed_is_no_later_than_the_box_may_travel():
    """USPS, Shipping Chicks [USPS-CHICK], S: 72 hours from the hatch."""
    hatched = datetime(2026, 3, 22, 6, tzinfo=UTC)
    assert incubation.latest_feed(hatched) == datetime(2026, 3, 25, 6, tzinfo=UTC)
