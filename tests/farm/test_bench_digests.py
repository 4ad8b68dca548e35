"""The measurement of digests: found by name, its two ways say the same, and it never touches a database in use."""

import pytest

from bench import __main__ as bench
from bench import database, digests
from farm.models import Farm, Notice


def test_it_is_a_measurement_and_its_database_is_none():
    assert "digests" in bench.measurements()
    assert "database" not in bench.measurements()


def test_both_ways_word_the_digests_of_everybody_alike(db):
    farms = [digests.farm_of(n) for n in range(2)]
    assert digests.same(farms)
    words = digests.all_at_once(farms[0])
    assert len(words) == len(digests.NAMES)
    assert all(one.startswith("Morning round, Thu 1 May: ") for one in words)


def test_each_look_makes_a_message_for_everybody_and_all_farms_are_due(db):
    farms = [digests.farm_of(n) for n in range(3)]
    assert digests.per_farm(farms) > 0
    assert Notice.objects.count() == 3 * len(digests.NAMES)
    digests.make_due()
    assert digests.finding()[1] == Farm.objects.count() == 3


def test_it_refuses_a_process_in_which_a_database_is_in_use():
    with pytest.raises(RuntimeError, match="one of its own"), database.fresh():
        pass
