"""What the readers of the built-in tables refuse, each time naming file, row and field."""

import copy

import pytest

from farm.trade import behaviours, cautions, chores, load, mixing
from farm.trade.reading import TableError, programme_files, read


def told(reader, table) -> list[str]:
    with pytest.raises(TableError) as caught:
        reader(table)
    return [f"{path}: {message}" for path, message in caught.value.problems]


def changed(table, *path, **fields):
    """Return a deep copy of the table with some fields of one row set anew."""
    result = copy.deepcopy(table)
    row = result
    for name in path:
        row = row[name]
    row.update(fields)
    return result


CHORES = {file: read(file) for file in chores.KINDS}
PROGRAMMES = {name: read("programmes", name) for name in programme_files()}


def test_a_programmes_problem_names_file_table_and_row():
    broken = changed(PROGRAMMES, "goose.toml", "curves", "temp_c", 1, value=99)
    assert told(load.from_tables, broken) == ["goose.toml: curves.temp_c[1].value: 99 is outside 15 to 45"]


def test_problems_of_several_files_are_told_together():
    broken = changed(PROGRAMMES, "goose.toml", name="")
    broken = changed(broken, "duck.toml", "rules", "hatch_g", source="HEARSAY")
    assert told(load.from_tables, broken) == [
        "duck.toml: rules.hatch_g.source: HEARSAY is not a known source",
        "goose.toml: name: must be a text",
    ]


def test_a_programme_is_named_as_its_file():
    assert told(load.from_tables, changed(PROGRAMMES, "goose.toml", key="gander")) == [
        "goose.toml: key: must be the name of the file"
    ]


def test_no_built_in_number_may_call_itself_a_farms_own():
    broken = changed(PROGRAMMES, "goose.toml", "rules", "hatch_g", source="this farm's own figure")
    assert told(load.from_tables, broken) == [
        "goose.toml: rules.hatch_g.source: this farm's own figure is not a known source"
    ]


@pytest.mark.parametrize(
    "fields, message",
    [
        ({"who": "cat"}, "who: cat is not a known role"),
        ({"condition": "sunny"}, "condition: sunny is not a known condition"),
        ({"rounds": ["dawn"]}, "rounds: dawn is not known"),
        ({"cautions": ["hygiene", "children", "bees"]}, "cautions: bees is not known"),
        ({"cautions": ["hygiene"]}, "cautions: a child's chore needs the caution for children"),
        ({"minutes": 601}, "minutes: 601 is outside 0 to 600"),
        ({"minutes_per_50": 241}, "minutes_per_50: 241 is outside 0 to 240"),
        ({"source": ""}, "source: every number needs a source"),
        ({"species_days": {"dodo": 3}}, "species_days: names a species that is not known"),
        ({"colour": "red"}, "colour: is not a known field"),
    ],
)
def test_a_wrong_field_of_a_chore_is_refused(fields, message):
    broken = changed(CHORES, "chores.toml", "feed_water", **fields)
    assert told(chores.from_tables, broken) == [f"chores.toml: feed_water.{message}"]


def test_hot_work_is_never_given_to_a_helper():
    broken = changed(CHORES, "steps_rearing.toml", "heat_off", who="helper")
    assert told(chores.from_tables, broken) == [
        "steps_rearing.toml: heat_off.who: hot work is for adults only"
    ]


def test_a_caution_without_its_deferral_is_refused():
    broken = changed(read("cautions.toml"), "cord", text="Use one sound cord.")
    assert told(cautions.from_table, broken) == [
        "cautions.toml: cord.text: must end with the deferral to local code, label and vet"
    ]


@pytest.mark.parametrize(
    "fields, message",
    [
        ({"verdict": "bored"}, "verdict: bored is not a known verdict"),
        ({"species": "dodo"}, "species: dodo is not a known species"),
        ({"advice": ""}, "advice: must be a text"),
    ],
)
def test_a_wrong_field_of_a_behaviour_is_refused(fields, message):
    broken = changed(read("behaviours.toml"), "huddled", **fields)
    assert told(behaviours.from_table, broken) == [f"behaviours.toml: huddled.{message}"]


@pytest.mark.parametrize(
    "path, fields, message",
    [
        (("pair", 0), {"scope": "sometimes"}, "pair[0].scope: sometimes is not a known scope"),
        (("pair", 1), {"one": ["swan"]}, "pair[1].one: swan is not known"),
        (("age_gap",), {"warn_over_days": 61}, "age_gap.warn_over_days: 61 is outside 0 to 60"),
        (("isolation",), {"source": "HEARSAY"}, "isolation.source: HEARSAY is not a known source"),
        ((), {"quarrels": {}}, "quarrels: is not a known field"),
    ],
)
def test_a_wrong_field_of_the_mixing_rules_is_refused(path, fields, message):
    assert told(mixing.from_table, changed(read("mixing.toml"), *path, **fields)) == [
        f"mixing.toml: {message}"
    ]


def test_a_missing_mixing_rule_is_refused():
    table = read("mixing.toml")
    del table["age_gap"]
    assert told(mixing.from_table, table)[0] == "mixing.toml: age_gap: must be a table of named fields"


def test_the_tables_as_they_stand_are_taken_whole():
    assert chores.from_tables(CHORES) == chores.chores()
    assert load.from_tables(PROGRAMMES) == load.programmes()
