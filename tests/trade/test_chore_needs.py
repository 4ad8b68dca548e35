"""What the chores of the table need of whoever does them, and which of them birds or eggs can't wait for."""

import pytest

from farm.trade import chores as table
from farm.trade.chores import ABILITIES, chores
from farm.trade.reading import TableError, read

TABLES = {file: read(file) for file in table.KINDS}


def needing(ability):
    return {key for key, chore in chores().items() if ability in chore.needs}


def told(file, key, **fields):
    row = {**TABLES[file][key], **fields}
    with pytest.raises(TableError) as caught:
        table.from_tables({**TABLES, file: {**TABLES[file], key: row}})
    return [f"{path}: {message}" for path, message in caught.value.problems]


def test_all_hot_work_needs_heat_and_so_does_putting_it_back_on():
    hot = {key for key, chore in chores().items() if chore.hot}
    assert hot == {"heat_check", "heat_lower", "heat_off", "preheat"}
    assert needing("heat") == hot | {"cold_night"}


def test_water_is_carried_to_drinkers_and_machines():
    assert {"feed_water", "clean_drinkers", "refill_water", "footbath"} <= needing("water")


def test_litter_crates_and_bags_are_lifted():
    assert needing("lifting") == {"bedding", "move", "clean_out", "catch", "check_feed"}


def test_what_may_hold_medicine_needs_somebody_who_may_give_it():
    assert needing("dosing") == {key for key, chore in chores().items() if "medicated" in chore.cautions}
    assert needing("dosing")


def test_killing_needs_somebody_who_slaughters_and_catching_does_not():
    assert needing("slaughter") == {"process"}


def test_looking_at_birds_needs_nothing_but_eyes():
    assert chores()["look"].needs == ()


def test_needs_come_in_one_order_each_once():
    for chore in chores().values():
        assert chore.needs == tuple(ability for ability in ABILITIES if ability in chore.needs), chore.key


def test_heat_and_slaughter_are_for_adults_and_no_child_gives_medicine():
    for chore in chores().values():
        if {"heat", "slaughter"} & set(chore.needs):
            assert chore.who == "adult", chore.key
        if chore.who == "child":
            assert set(chore.needs) <= {"water"}, chore.key


def test_birds_and_eggs_cannot_wait_for_these():
    assert {key for key, chore in chores().items() if chore.care and chore.kind == "routine"} == {
        *("feed_water", "look", "heat_check", "vent_check", "clean_drinkers", "day_out", "shut_in"),
        *("turn_eggs", "check_machine", "refill_water"),
    }
    assert {key for key, chore in chores().items() if chore.care and chore.kind == "step"} == {
        *("preheat", "arrival", "stones_in", "cold_night", "hot_day", "losses", "lockdown", "hatch_out"),
    }


@pytest.mark.parametrize(
    "key", ["bedding", "footbath", "weigh", "clean_out", "order_feed", "move", "process"]
)
def test_what_may_wait_a_day_is_not_care(key):
    assert not chores()[key].care


@pytest.mark.parametrize(
    "file, key, fields, message",
    [
        ("chores.toml", "look", {"needs": ["flying"]}, "needs: flying is not known"),
        ("chores.toml", "look", {"needs": "water"}, "needs: must be a list of texts"),
        ("chores.toml", "look", {"needs": ["heat"]}, "who: heat and slaughter are for adults only"),
        ("steps_housing.toml", "process", {"who": "helper"}, "who: heat and slaughter are for adults only"),
        ("chores.toml", "feed_water", {"needs": ["dosing"]}, "who: a child gives no medicine"),
    ],
)
def test_a_need_that_cannot_be_is_refused(file, key, fields, message):
    assert told(file, key, **fields) == [f"{file}: {key}.{message}"]


def test_a_chore_that_says_nothing_needs_nothing_and_can_wait():
    row = {k: v for k, v in TABLES["chores.toml"]["feed_water"].items() if k not in ("needs", "care")}
    plain = table.from_tables({"chores.toml": {"feed_water": row}})["feed_water"]
    assert (plain.needs, plain.care) == ((), False)


def test_heat_that_is_both_hot_and_written_is_one_need():
    row = {**TABLES["chores.toml"]["heat_check"], "needs": ["water", "heat"]}
    found = table.from_tables({"chores.toml": {"heat_check": row}})["heat_check"]
    assert found.needs == ("heat", "water")
