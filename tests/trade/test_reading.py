"""The reader of tables: each problem with its place, all of them at once."""

import math

import pytest

from farm.trade.reading import Reader, TableError, programme_files, read


def reader(row, path="birds.toml: row"):
    problems = []
    return Reader(row, path, problems), problems


def told(problems):
    return [f"{path}: {message}" for path, message in problems]


def test_a_number_within_bounds_is_taken_as_a_float():
    row, problems = reader({"value": 3})
    assert row.number("value", 0, 10) == 3.0
    assert problems == []


@pytest.mark.parametrize("value", [0, 10])
def test_the_bounds_themselves_are_allowed(value):
    row, problems = reader({"value": value})
    assert row.number("value", 0, 10) == value
    assert problems == []


def test_a_missing_number_is_told_with_its_place():
    row, problems = reader({})
    assert math.isnan(row.number("value", 0, 10))
    assert told(problems) == ["birds.toml: row.value: must be a number"]


def test_an_optional_whole_number_may_be_absent_but_not_wrong():
    row, problems = reader({"day": 1.5})
    assert row.optional_whole("other", 0, 9) is None
    row.optional_whole("day", 0, 9)
    assert told(problems) == ["birds.toml: row.day: must be a whole number"]


def test_texts_must_be_a_list_of_known_ones():
    row, problems = reader({"rounds": ["morning", "noon"], "jobs": "feed"})
    row.texts("rounds", ("morning", "evening"))
    row.texts("jobs")
    assert told(problems) == [
        "birds.toml: row.rounds: noon is not known",
        "birds.toml: row.jobs: must be a list of texts",
    ]


def test_fields_nobody_asked_for_are_refused_in_order():
    row, problems = reader({"b": 1, "a": 2, "value": 3})
    row.number("value", 0, 9)
    row.done()
    assert told(problems) == [
        "birds.toml: row.a: is not a known field",
        "birds.toml: row.b: is not a known field",
    ]


def test_a_row_that_is_no_table_is_told_once():
    row, problems = reader([1, 2])
    row.number("value", 0, 9)
    row.text("name")
    row.done()
    assert told(problems) == ["birds.toml: row: must be a table of named fields"]


def test_a_file_without_a_row_joins_its_path_without_a_dot():
    row, problems = reader({"day": "x"}, "birds.toml: ")
    row.whole("day", 0, 9)
    assert told(problems) == ["birds.toml: day: must be a number"]


def test_the_error_lists_every_problem_on_its_own_line():
    row, problems = reader({})
    row.text("name")
    row.number("value", 0, 9)
    assert str(TableError(problems)).splitlines() == [
        "birds.toml: row.name: must be a text",
        "birds.toml: row.value: must be a number",
    ]


def test_every_programme_file_is_package_data_that_can_be_read():
    names = programme_files()
    assert "goose.toml" in names
    assert read("programmes", "goose.toml")["key"] == "goose"
