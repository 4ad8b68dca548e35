"""What the reader of programmes refuses, each time naming the place: nothing half-read gets in."""

import copy
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from farm.trade.load import TableError, from_dict, programmes, to_dict
from farm.trade.programme import CURVES, OWN, RULES

BROWN = to_dict(programmes()["chicken_layer_brown"])


def problems_after(change) -> list[str]:
    data = copy.deepcopy(BROWN)
    change(data)
    with pytest.raises(TableError) as caught:
        from_dict(data)
    return [f"{path}: {message}" for path, message in caught.value.problems]


def test_an_unknown_field_is_refused():
    assert problems_after(lambda p: p.update(colour="brown")) == ["colour: is not a known field"]


def test_an_unknown_curve_is_refused():
    def change(p):
        p["curves"]["wingspan_cm"] = [{"day": 0, "value": 1, "source": "HRB"}]

    assert problems_after(change) == ["curves.wingspan_cm: is not a known field"]


def test_an_unknown_field_of_a_row_is_refused():
    assert problems_after(lambda p: p["curves"]["temp_c"][1].update(unit="K")) == [
        "curves.temp_c[1].unit: is not a known field"
    ]


def test_a_missing_curve_is_refused():
    assert problems_after(lambda p: p["curves"].pop("area_m2")) == ["curves.area_m2: this curve is missing"]


def test_a_missing_rule_is_refused():
    assert problems_after(lambda p: p["rules"].pop("hatch_g")) == ["rules.hatch_g: this rule is missing"]


def test_a_curve_without_rows_is_refused():
    assert problems_after(lambda p: p["curves"].update(temp_c=[])) == [
        "curves.temp_c: needs at least one row"
    ]


@pytest.mark.parametrize("source", ["", None, 7])
def test_a_number_without_a_source_is_refused(source):
    assert problems_after(lambda p: p["curves"]["temp_c"][2].update(source=source)) == [
        "curves.temp_c[2].source: every number needs a source"
    ]


def test_a_number_with_an_unknown_source_is_refused():
    assert problems_after(lambda p: p["rules"]["hatch_g"].update(source="HEARSAY")) == [
        "rules.hatch_g.source: HEARSAY is not a known source"
    ]


@pytest.mark.parametrize("day", [7, 6])
def test_ages_that_do_not_rise_are_refused(day):
    assert problems_after(lambda p: p["curves"]["temp_c"][2].update(day=day)) == [
        "curves.temp_c[2].day: must be later than day 7 of the row before"
    ]


@pytest.mark.parametrize("day", [-1, 3288])
def test_an_age_outside_a_birds_life_is_refused(day):
    found = problems_after(lambda p: p["curves"]["lost_share"][0].update(day=day))
    assert f"curves.lost_share[0].day: {day} is outside 0 to 3287" in found


def test_half_a_day_of_age_is_refused():
    assert problems_after(lambda p: p["curves"]["temp_c"][1].update(day=6.5)) == [
        "curves.temp_c[1].day: must be a whole number"
    ]


@pytest.mark.parametrize("name", sorted(CURVES))
def test_a_curve_value_outside_its_bounds_is_refused(name):
    high = CURVES[name][3]
    row = len(BROWN["curves"][name]) - 1
    found = problems_after(lambda p: p["curves"][name][row].update(value=high + 0.01))
    assert found == [f"curves.{name}[{row}].value: {high + 0.01:g} is outside {CURVES[name][2]} to {high}"]


@pytest.mark.parametrize("name", sorted(set(RULES) & set(BROWN["rules"])))
def test_a_rule_outside_its_bounds_is_refused(name):
    found = problems_after(lambda p: p["rules"][name].update(value=RULES[name][2] + 1))
    assert any(line.startswith(f"rules.{name}.value: ") and "outside" in line for line in found)


@pytest.mark.parametrize("value", ["35", None, True, math.nan, math.inf, [35]])
def test_a_value_that_is_no_number_is_refused(value):
    assert problems_after(lambda p: p["curves"]["temp_c"][0].update(value=value)) == [
        "curves.temp_c[0].value: must be a number"
    ]


@pytest.mark.parametrize("name", ["weight_female_g", "feed_eaten_male_kg", "lost_share"])
def test_a_curve_that_can_only_rise_is_refused_when_it_falls(name):
    found = problems_after(lambda p: p["curves"][name][0].update(value=p["curves"][name][1]["value"] * 1.01))
    assert f"curves.{name}[1].value: must not be less than the row before" in found


def test_heat_that_ends_at_the_latest_before_it_may_end_at_the_earliest_is_refused():
    assert problems_after(lambda p: p["rules"]["heat_off_latest_day"].update(value=41)) == [
        "rules.heat_off_latest_day.value: must not be before heat_off_earliest_day"
    ]


def test_a_first_feed_that_starts_after_hatch_is_refused():
    assert problems_after(lambda p: p["feeds"][0].update(day=1)) == [
        "feeds[0].day: the first feed must start on day 0"
    ]


@pytest.mark.parametrize("grams", [79, 351])
def test_protein_outside_any_feed_is_refused(grams):
    assert problems_after(lambda p: p["feeds"][1].update(protein_g_per_kg=grams)) == [
        f"feeds[1].protein_g_per_kg: {grams} is outside 80 to 350"
    ]


def test_a_job_that_no_table_knows_is_refused():
    assert problems_after(lambda p: p["jobs"].append("sing")) == ["jobs: sing is not known"]


def test_an_unknown_species_is_refused():
    assert problems_after(lambda p: p.update(species="dodo")) == ["species: dodo is not a known species"]


@pytest.mark.parametrize("text", ["", "  ", None, 3])
def test_a_programme_without_a_name_is_refused(text):
    assert problems_after(lambda p: p.update(name=text)) == ["name: must be a text"]


@pytest.mark.parametrize("data", [[], "chicken", None, 5])
def test_what_is_no_table_at_all_is_refused_without_falling_over(data):
    with pytest.raises(TableError) as caught:
        from_dict(data)
    assert "must be a table of named fields" in str(caught.value)


@pytest.mark.parametrize("part", ["curves", "rules"])
def test_a_part_that_is_no_table_is_refused_without_falling_over(part):
    assert f"{part}: must be a table of named fields" in problems_after(lambda p: p.update({part: [1, 2]}))


def test_a_row_that_is_no_table_is_refused_once():
    found = problems_after(lambda p: p["feeds"].append("layer"))
    assert "feeds[4]: must be a table of named fields" in found


def test_every_problem_is_told_at_once():
    def change(p):
        p["name"] = ""
        p["curves"]["temp_c"][0]["value"] = 99
        p["rules"]["hatch_g"]["source"] = "HEARSAY"
        p["feeds"][0]["day"] = 3

    assert len(problems_after(change)) == 4


def test_the_file_is_named_before_the_place():
    with pytest.raises(TableError) as caught:
        from_dict(BROWN | {"name": ""}, where="my-birds.json")
    assert caught.value.problems[0][0] == "my-birds.json: name"


def test_a_keepers_own_figure_says_that_it_is_their_own():
    data = copy.deepcopy(BROWN)
    data["curves"]["area_m2"][0] = {"day": 0, "value": 0.05, "source": OWN}
    assert from_dict(data).curves["area_m2"][0].source == OWN


SCALARS = st.none() | st.booleans() | st.floats() | st.text(max_size=5)
FIELDS = st.sampled_from(["day", "value", "source", "temp_c", "hatch_g"])
JUNK = st.recursive(
    SCALARS, lambda x: st.lists(x, max_size=3) | st.dictionaries(FIELDS, x, max_size=3), max_leaves=6
)


@settings(deadline=None, max_examples=60)
@given(JUNK, st.sampled_from(["curves", "rules", "feeds"]))
def test_no_junk_gets_in_and_none_crashes_the_reader(junk, part):
    with pytest.raises(TableError) as caught:
        from_dict({**BROWN, part: junk})
    assert all(path.startswith(part) for path, _ in caught.value.problems)
