"""Cautions, behaviours, names, general figures and sources: whole, and worded as pages need them."""

import pytest

from farm.trade.behaviours import VERDICTS, behaviours, behaviours_of
from farm.trade.cautions import DEFERRAL, cautions
from farm.trade.general import figure, general
from farm.trade.programme import SPECIES
from farm.trade.sources import is_known, sources
from farm.trade.species import species, young


@pytest.mark.parametrize("caution", cautions().values(), ids=lambda c: c.key)
def test_every_caution_ends_by_deferring_to_code_label_and_vet(caution):
    assert caution.text.endswith(DEFERRAL)
    assert "\n" not in caution.text
    assert is_known(caution.source)


def test_the_dangers_people_die_of_each_have_a_caution():
    assert {"heat_lamp", "cord", "hygiene", "who_not", "children", "drugs", "slaughter"} <= set(cautions())


def test_the_heat_lamp_caution_states_both_distances():
    assert "45 cm" in cautions()["heat_lamp"].text
    assert "1 m" in cautions()["heat_lamp"].text


@pytest.mark.parametrize("behaviour", behaviours().values(), ids=lambda b: b.key)
def test_every_behaviour_leads_to_advice_and_a_verdict(behaviour):
    assert behaviour.seen
    assert behaviour.advice
    assert behaviour.verdict in VERDICTS
    assert is_known(behaviour.source)


def test_only_turkeys_are_told_of_poults():
    assert "poult_eyes_shut" in {each.key for each in behaviours_of("turkey")}
    assert "poult_eyes_shut" not in {each.key for each in behaviours_of("duck")}


def test_every_species_can_be_seen_well_cold_hot_and_in_a_draught():
    for key in SPECIES:
        assert {each.verdict for each in behaviours_of(key)} == set(VERDICTS), key


def test_every_species_has_a_name_and_types():
    assert list(species()) == list(SPECIES)
    assert all(each.types for each in species().values())


@pytest.mark.parametrize(
    "kind, words",
    [
        (("chicken", "layer"), ("layer chick", "layer chicks")),
        (("turkey", "large"), ("poult", "poults")),
        (("duck", "standard"), ("duckling", "ducklings")),
        (("goose", "standard"), ("gosling", "goslings")),
        (("guinea", "standard"), ("keet", "keets")),
    ],
)
def test_young_birds_are_called_what_keepers_call_them(kind, words):
    assert young(*kind) == words


def test_a_farms_own_type_takes_the_species_first_words():
    assert young("goose", "grandmothers_kind") == ("gosling", "goslings")


def test_an_unknown_species_has_no_words():
    with pytest.raises(KeyError):
        young("dodo", "standard")


def test_every_general_figure_names_its_source_and_unit():
    for group in general().values():
        for name, found in group.items():
            assert is_known(found.source), name
            assert found.unit, name


def test_figures_are_the_sourced_ones():
    assert figure("water", "water_per_feed") == 2
    assert figure("losses", "order_confidence") == 0.9
    assert figure("rest_days", "brooder") == 14


def test_a_source_without_a_confirmed_address_says_so():
    assert sources()["CDC-HFF"].confirmed is False
    assert sources()["CWFIRE"].confirmed is True
    assert sources()["CWFIRE"].address == "cwfire.org/chicken-coop-brood-lamp-fire-hazards"


def test_printed_works_have_no_address():
    assert sources()["HRB"].address is None


def test_no_address_carries_a_scheme():
    assert [key for key, each in sources().items() if each.address and "://" in each.address] == []


@pytest.mark.parametrize("text", ["PSU2023", "common practice, no source", "CDC-HFF; HRB"])
def test_keys_labels_and_lists_of_them_are_known(text):
    assert is_known(text)


@pytest.mark.parametrize("text", ["", "psu2023", "PSU2023, HRB", "this farm's own figure", "PSU2023; "])
def test_anything_else_is_not_a_source(text):
    assert not is_known(text)


def test_a_farms_own_figure_is_known_only_where_that_is_allowed():
    assert is_known("this farm's own figure", own=True)
