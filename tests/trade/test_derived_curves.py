"""Curves taken from another programme: scaled, still sourced, and refused when they lead nowhere."""

import pytest

from farm.trade.derive import resolved
from farm.trade.load import programmes
from farm.trade.programme import JUDGEMENT

DUCK = {
    "curves": {
        "weight_female_g": [
            {"day": 0, "value": 55.0, "source": "HRB"},
            {"day": 7, "value": 270.0, "source": "HRB"},
        ]
    }
}


def derive(rows, others=None):
    problems = []
    tables = {"duck.toml": DUCK, "other.toml": {"curves": {"weight_female_g": rows}}, **(others or {})}
    found = resolved(tables, problems)["other.toml"]["curves"]["weight_female_g"]
    return found, [f"{path}: {message}" for path, message in problems]


def test_a_curve_like_anothers_keeps_its_rows_and_their_sources():
    assert derive({"like": "duck"}) == (DUCK["curves"]["weight_female_g"], [])


def test_a_scaled_curve_names_who_judged_the_factor():
    rows, problems = derive({"like": "duck", "factor": 0.9, "source": JUDGEMENT})
    assert problems == []
    assert rows == [
        {"day": 0, "value": 49.5, "source": JUDGEMENT},
        {"day": 7, "value": 243.0, "source": JUDGEMENT},
    ]


def test_no_factor_changes_the_weight_at_hatch_where_that_is_stated():
    rows, _ = derive({"like": "duck", "factor": 0.9, "source": JUDGEMENT, "hatch_g": 50})
    assert [row["value"] for row in rows] == [50, 243.0]


def test_a_factor_without_a_source_is_refused():
    _, problems = derive({"like": "duck", "factor": 0.9})
    assert problems == ["other.toml: curves.weight_female_g.source: every number needs a source"]


@pytest.mark.parametrize("factor", [0.49, 1.61])
def test_a_factor_outside_its_bounds_is_refused(factor):
    _, problems = derive({"like": "duck", "factor": factor, "source": JUDGEMENT})
    assert problems == [f"other.toml: curves.weight_female_g.factor: {factor} is outside 0.5 to 1.6"]


def test_a_curve_like_one_that_is_not_there_is_refused():
    assert derive({"like": "swan"}) == (
        [],
        ["other.toml: curves.weight_female_g.like: there is no such curve to take"],
    )


def test_curves_that_take_from_each_other_are_refused_instead_of_going_round():
    _, problems = derive(
        {"like": "third"}, {"third.toml": {"curves": {"weight_female_g": {"like": "other"}}}}
    )
    assert any("there is no such curve to take" in line for line in problems)


def test_an_unknown_field_of_a_derived_curve_is_refused():
    _, problems = derive({"like": "duck", "times": 2})
    assert problems == ["other.toml: curves.weight_female_g.times: is not a known field"]


@pytest.mark.parametrize(
    "key, base, curve, factor",
    [
        ("duck_muscovy", "duck", "weight_female_g", 0.9),
        ("guinea", "chicken_layer_brown", "weight_female_g", 0.9),
        ("pheasant", "chicken_layer_white", "weight_female_g", 0.75),
        ("quail_layer", "quail_meat", "weight_female_g", 0.7),
        ("chicken_layer_white", "chicken_layer_brown", "feed_eaten_female_kg", 0.95),
        ("chicken_dual", "chicken_layer_brown", "feed_eaten_female_kg", 1.15),
        ("pheasant", "chicken_layer_brown", "feed_eaten_female_kg", 0.7),
        ("turkey_medium", "turkey_large", "feed_eaten_male_kg", 0.75),
    ],
)
def test_a_built_in_programme_is_its_base_times_its_stated_factor(key, base, curve, factor):
    ours, theirs = programmes()[key].curves[curve][1:], programmes()[base].curves[curve][1:]
    assert [knot.day for knot in ours] == [knot.day for knot in theirs]
    for own, other in zip(ours, theirs, strict=True):
        assert own.value == pytest.approx(other.value * factor, abs=0.051)
        assert own.source == JUDGEMENT
