"""Feed eaten and feed protein against figures that are not in our feed tables."""

import pytest

from farm.husbandry import rations
from farm.husbandry.feeding.usage import cold_share
from farm.husbandry.growth import FEMALE, STRAIGHT_RUN, weight_g
from farm.trade.load import programmes


def eaten(key: str, day: int, sex: str = STRAIGHT_RUN) -> float:
    return float(rations.feed_eaten_kg(programmes()[key], day, sex))


def protein(key: str, day: int) -> float:
    """Return the protein of what is fed on a day, whatever is being mixed in."""
    programme = programmes()[key]
    parts = rations.shares(programme, day)
    return float(
        sum(part * phase.protein_g_per_kg for part, phase in zip(parts, programme.feeds, strict=True))
    )


def test_meat_chickens_gain_more_from_their_feed_than_the_birds_of_1984():
    """National Research Council, 1984 [NRC1984]: feed per gain to day 42 below 1.87, straight run."""
    gained = (weight_g(programmes()["chicken_meat"], 42) - weight_g(programmes()["chicken_meat"], 0)) / 1000
    assert eaten("chicken_meat", 42) / gained < 1.87


def test_a_meat_chick_eats_about_four_kilograms_to_six_weeks():
    """Manitoba Agriculture, Basic Feeding Programs [MANITOBA]: 4.0 kg +-10 %."""
    assert eaten("chicken_meat", 42) == pytest.approx(4.0, rel=0.10)


def test_a_layer_chick_eats_about_one_kilogram_to_six_weeks():
    """Manitoba Agriculture, Basic Feeding Programs [MANITOBA]: 1.0 kg +-15 %."""
    assert eaten("chicken_layer_brown", 42, FEMALE) == pytest.approx(1.0, rel=0.15)


def test_a_turkey_hen_eats_what_hens_were_measured_at_to_12_weeks():
    """Poultry Sci., Growth, Feed Conversions and Yields of Hen Turkeys [PS-HEN]: 9.4 kg +-20 %."""
    assert eaten("turkey_large", 84, FEMALE) == pytest.approx(9.4, rel=0.20)


def test_a_laying_quail_eats_what_was_measured_to_six_weeks():
    """Japanese quail in a humid environment, Egypt. Poult. Sci. [NG-QUAIL]: .384 kg to day 42; +-25 %."""
    assert eaten("quail_layer", 42, FEMALE) == pytest.approx(0.384, rel=0.25)


def test_a_grown_laying_quail_eats_what_was_measured_in_lay():
    """Protein for laying quail [AA-QUAIL]: 18-22 g a day."""
    assert 18 <= rations.feed_g(programmes()["quail_layer"], 120, FEMALE) <= 22 + 1e-9


@pytest.mark.parametrize("day, least", [(41, 180), (97, 150), (139, 120)])
def test_pullets_get_at_least_the_protein_they_need(day, least):
    """National Research Council, 1984 [NRC1984]: 180 g/kg to 6 weeks, 150 to 14, 120 to 20."""
    for key in ("chicken_layer_white", "chicken_layer_brown", "chicken_dual"):
        assert protein(key, day) >= least, key


@pytest.mark.parametrize("day, grams", [(70, 213), (98, 195), (126, 176)])
def test_turkeys_get_about_the_protein_toms_were_found_to_need(day, grams):
    """Potter, Poultry Sci. 60:2678, 1981 [POTTER1981]: males at 10, 14, 18 weeks; +-30 g/kg."""
    for key in ("turkey_large", "turkey_medium"):
        assert protein(key, day) == pytest.approx(grams, abs=30), key


def test_cold_adds_about_the_feed_that_hens_were_measured_to_eat_more():
    """Peguri and Coon, Poultry Sci. 70:126, 1991 (abstract): 21.7 g less between 16.1 and 31.1 °C, 1.45 g a °C;
    +-30 %: ours begins at 20 °C and is a share of the hen's feed."""
    hen = programmes()["chicken_layer_white"].rules["grown_feed_g"].value
    ours = hen * (cold_share(10.0) - cold_share(15.0)) / 5
    assert ours == pytest.approx(21.7 / 15, rel=0.30)
