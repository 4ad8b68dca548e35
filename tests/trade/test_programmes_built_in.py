"""The built-in rearing programmes: complete, sourced, and faithful to the rows they were printed with."""

import json

import pytest

from farm.trade.load import from_dict, programmes, to_dict
from farm.trade.programme import CURVES, JUDGEMENT, NO_SOURCE, OPTIONAL_RULES, OWN, REQUIRED_CURVES, RULES
from farm.trade.sources import is_known
from farm.trade.species import species

KEYS = [
    "chicken_dual",
    "chicken_layer_brown",
    "chicken_layer_white",
    "chicken_meat",
    "duck",
    "duck_muscovy",
    "goose",
    "guinea",
    "pheasant",
    "quail_layer",
    "quail_meat",
    "turkey_large",
    "turkey_medium",
]
each_programme = pytest.mark.parametrize("programme", programmes().values(), ids=lambda p: p.key)


def test_there_is_a_programme_for_every_species_and_type():
    assert sorted(programmes()) == KEYS
    named = {(p.species, p.type) for p in programmes().values()}
    assert named == {(key, name) for key, each in species().items() for name in each.types}


@each_programme
def test_a_programme_has_every_required_curve_and_rule(programme):
    assert set(programme.curves) >= REQUIRED_CURVES
    assert set(programme.rules) >= set(RULES) - OPTIONAL_RULES


@each_programme
def test_every_number_names_a_publication_or_says_that_there_is_none(programme):
    said = [knot.source for knots in programme.curves.values() for knot in knots]
    said += [rule.source for rule in programme.rules.values()] + [feed.source for feed in programme.feeds]
    assert len(said) > 40
    assert all(is_known(source) for source in said)
    assert OWN not in said


@each_programme
def test_every_curve_but_water_starts_on_hatch_day(programme):
    assert {name for name, knots in programme.curves.items() if knots[0].day != 0} <= {"water_per_100_l"}


@each_programme
def test_birds_hatch_at_the_weight_the_rules_state_having_eaten_and_lost_nothing(programme):
    first = {name: knots[0].value for name, knots in programme.curves.items()}
    assert first["weight_female_g"] == first["weight_male_g"] == programme.rules["hatch_g"].value
    assert first["feed_eaten_female_kg"] == first["feed_eaten_male_kg"] == first["lost_share"] == 0


@each_programme
def test_older_birds_ask_for_more_room_and_less_warmth(programme):
    for name in ("area_m2", "feeder_cm", "drinker_cm"):
        values = [knot.value for knot in programme.curves[name]]
        assert values == sorted(values), name
    for name in ("temp_c", "night_min_c"):
        values = [knot.value for knot in programme.curves[name]]
        assert values == sorted(values, reverse=True), name


@each_programme
def test_a_programme_survives_json_unchanged(programme):
    assert from_dict(json.loads(json.dumps(to_dict(programme)))) == programme


def test_layer_chicks_have_the_printed_floor_area_and_who_printed_it():
    knots = programmes()["chicken_layer_brown"].curves["area_m2"]
    assert [(knot.day, knot.value, knot.source) for knot in knots] == [
        (0, 0.023, "PSU-SPACE"),
        (7, 0.046, "PSU-SPACE"),
        (21, 0.070, "PSU-SPACE"),
        (35, 0.093, "PSU-SPACE"),
        (56, 0.139, "PSU2023"),
        (112, 0.186, "PSU2023"),
    ]


def test_the_misprinted_five_week_weight_of_meat_cockerels_is_left_out():
    meat = programmes()["chicken_meat"]
    assert 35 not in [knot.day for knot in meat.curves["weight_male_g"]]
    assert 35 in [knot.day for knot in meat.curves["weight_female_g"]]


def test_no_night_minimum_claims_a_publication():
    for programme in programmes().values():
        assert {knot.source for knot in programme.curves["night_min_c"]} == {JUDGEMENT}


def test_waterfowl_get_no_low_perch_and_no_dust_bath():
    for key in ("duck", "duck_muscovy", "goose"):
        assert not {"low_perch", "dust_bath"} & set(programmes()[key].jobs)


def test_the_labels_for_unsourced_numbers_are_word_for_word():
    assert NO_SOURCE == "common practice, no source"
    assert JUDGEMENT == "project default (judgement)"


@each_programme
def test_every_curve_of_a_programme_is_one_the_contract_knows(programme):
    assert set(programme.curves) <= set(CURVES)
