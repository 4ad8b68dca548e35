"""The table of eggs: every species, every number with its source, and what its reader refuses."""

import copy

import pytest

from farm.trade import eggs
from farm.trade.programme import SPECIES
from farm.trade.reading import TableError, read
from farm.trade.sources import is_known

TABLE = read("eggs.toml")
each_kind = pytest.mark.parametrize("kind", eggs.egg_kinds().values(), ids=lambda kind: kind.species)


def told(table) -> list[str]:
    with pytest.raises(TableError) as caught:
        eggs.from_table(table)
    return [f"{path}: {message}" for path, message in caught.value.problems]


def changed(species, name, **field):
    table = copy.deepcopy(TABLE)
    table[species][name].update(field)
    return table


def test_every_species_has_eggs_and_no_other_bird_has():
    assert set(eggs.egg_kinds()) == set(SPECIES)


@each_kind
def test_every_number_of_an_egg_names_who_says_so(kind):
    assert set(kind.sources) == set(TABLE[kind.species])
    assert all(is_known(source) for source in kind.sources.values())


@pytest.mark.parametrize(
    "size, species",
    [
        ("small", {"quail"}),
        ("medium", {"chicken", "guinea", "pheasant"}),
        ("large", {"duck", "muscovy", "turkey"}),
        ("very_large", {"goose"}),
    ],
)
def test_eggs_count_against_the_capacity_of_their_size(size, species):
    assert {key for key, kind in eggs.egg_kinds().items() if kind.size == size} == species


def test_only_waterfowl_eggs_need_more_humidity():
    assert {key for key, kind in eggs.egg_kinds().items() if kind.rh_extra} == {"duck", "muscovy", "goose"}


def test_quail_eggs_keep_for_less_time_than_others():
    assert eggs.egg_kind("quail").refuse_storage_days == 10
    assert {kind.refuse_storage_days for key, kind in eggs.egg_kinds().items() if key != "quail"} == {14}


def test_eggs_of_an_unknown_bird_are_not_guessed():
    with pytest.raises(KeyError):
        eggs.egg_kind("dodo")


def test_a_missing_species_is_told():
    table = copy.deepcopy(TABLE)
    del table["goose"]
    assert told(table) == ["eggs.toml: goose: needs a row"]


def test_a_bird_nobody_knows_is_refused():
    assert told(TABLE | {"dodo": TABLE["goose"]}) == ["eggs.toml: dodo.size: dodo is not a known species"]


@pytest.mark.parametrize(
    "name, field, message",
    [
        ("size", {"value": "huge"}, "size: huge is not a known size of egg"),
        ("size", {"value": 3}, "size.value: must be a text"),
        ("hatch_rate", {"value": 1.2}, "hatch_rate.value: 1.2 is outside 0 to 1"),
        ("hatch_rate", {"value": 0.95}, "hatch_rate: no more eggs hatch than are fertile"),
        ("fertility", {"source": ""}, "fertility.source: every number needs a source"),
        ("fertility", {"source": "HEARSAY"}, "fertility.source: HEARSAY is not a known source"),
        ("hatch_first_day", {"value": 20.5}, "hatch_first_day.value: must be a whole number"),
        ("hatch_first_day", {"value": 23}, "hatch_last_day: comes before the first day of the hatch"),
        ("candle_days", {"value": [7, 20]}, "candle_days: must come before the hatch"),
        ("candle_days", {"value": [14, 7]}, "candle_days.value: must rise"),
        ("candle_days", {"value": [7, 7]}, "candle_days.value: must rise"),
        ("candle_days", {"value": 7}, "candle_days.value: must be a list of whole days"),
        ("candle_days", {"value": [True]}, "candle_days.value: must be a list of whole days"),
        (
            "refuse_storage_days",
            {"value": 5},
            "refuse_storage_days: must lie between the best and the longest storage",
        ),
        ("rh_extra", {"colour": "blue"}, "rh_extra.colour: is not a known field"),
    ],
)
def test_what_is_wrong_is_told_with_its_field(name, field, message):
    assert told(changed("chicken", name, **field))[0] == f"eggs.toml: chicken.{message}"


def test_a_missing_field_is_told_once_for_its_table():
    table = copy.deepcopy(TABLE)
    del table["duck"]["fertility"]
    assert "eggs.toml: duck.fertility: must be a table of named fields" in told(table)


def test_a_field_nobody_reads_is_refused():
    table = copy.deepcopy(TABLE)
    table["duck"]["shell"] = {"value": 1, "source": "MSU-INC"}
    assert told(table) == ["eggs.toml: duck.shell: is not a known field"]
