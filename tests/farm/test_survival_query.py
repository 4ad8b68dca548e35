"""A batch's losses against what its programme expects, from its ledger."""

from datetime import timedelta

import pytest

from farm.husbandry import survival as curves
from farm.queries import programmes, survival, tally
from farm.services import counts
from tests.conftest import TODAY

DAY = timedelta(days=1)


@pytest.fixture
def browns(world):
    """40 layers hatched on 27 March, 35 days old."""
    return world.add_batch("Browns", birds=40, age=35)


def count(world, batch, kind, birds, ago=0):
    return counts.add(world.by, batch_id=batch.pk, kind=kind, birds=birds, day=TODAY - ago * DAY)


def today_row(batch):
    return survival.by_week(batch, TODAY)[-1]


def test_a_row_stands_for_the_end_of_each_week_and_for_today(world, browns):
    rows = survival.by_week(browns, TODAY)
    assert [row.age_days for row in rows] == [7, 14, 21, 28, 35]
    assert [row.day for row in rows][-1] == TODAY


def test_on_a_day_between_two_weeks_today_comes_last(world):
    batch = world.add_batch("Whites", birds=20, age=10)
    assert [row.age_days for row in survival.by_week(batch, TODAY)] == [7, 10]


def test_no_loss_is_usual_and_the_limits_are_those_of_the_programme(world, browns):
    row = today_row(browns)
    low, high = curves.control_limits(40, programmes.of(browns), [35])
    assert (row.here, row.died, row.verdict) == (40, 0, "usual")
    assert (row.low, row.high) == (int(low[0]), int(high[0]))


def test_losses_beyond_the_limit_are_more_than_chance(world, browns):
    high = today_row(browns).high
    count(world, browns, "died", high, ago=3)
    assert today_row(browns).verdict == "usual"
    count(world, browns, "culled", 1, ago=1)
    row = today_row(browns)
    assert (row.died, row.here, row.verdict) == (high + 1, 39 - high, "more")


def test_earlier_weeks_keep_what_was_true_then(world, browns):
    count(world, browns, "died", 4, ago=10)
    assert [row.died for row in survival.by_week(browns, TODAY)] == [0, 0, 0, 4, 4]


def test_a_line_taken_back_is_no_loss(world, browns):
    entry = count(world, browns, "died", 9)
    counts.reverse(world.by, entry_id=entry.pk)
    assert (today_row(browns).died, today_row(browns).here) == (0, 40)


def test_birds_sold_are_no_losses_and_are_expected_to_die_here_no_more(world, browns):
    before = today_row(browns).expected
    count(world, browns, "sold", 30, ago=28)
    row = today_row(browns)
    assert (row.died, row.here) == (0, 10)
    assert 0 < row.expected < before


def test_birds_bought_at_three_weeks_are_expected_to_lose_less_than_from_hatch(world, browns):
    grown = world.add_batch("Grown", birds=40, age=35, arrived_on=TODAY - 14 * DAY)
    assert today_row(grown).expected < today_row(browns).expected
    assert [row.age_days for row in survival.by_week(grown, TODAY)] == [28, 35]


def test_birds_found_later_count_from_their_own_day(world, browns):
    before = today_row(browns).expected
    count(world, browns, "found", 10, ago=1)
    assert before < today_row(browns).expected < before + 10 * 0.01


def test_a_batch_still_to_come_has_no_rows_and_no_share(world):
    coming = world.add_batch("Coming", birds=10, age=-7)
    assert survival.by_week(coming, TODAY) == []


def test_the_share_that_lives_leaves_sold_birds_alive(world, browns):
    count(world, browns, "died", 4)
    count(world, browns, "sold", 20)
    assert survival.share(list(browns.count_entries.all())) == 0.9
    assert survival.share([]) is None


def test_a_tally_adds_up_to_the_birds_here(world, browns):
    for kind, birds in (
        ("found", 2),
        ("died", 1),
        ("culled", 3),
        ("sold", 5),
        ("processed", 6),
        ("kept_back", 7),
    ):
        count(world, browns, kind, birds)
    found = tally.tally(list(browns.count_entries.all()))
    assert (found.came, found.died, found.left, found.here) == (42, 4, 18, 20)


def test_a_tally_reads_the_ledger_up_to_a_day(world, browns):
    count(world, browns, "died", 1, ago=5)
    count(world, browns, "died", 2)
    entries = list(browns.count_entries.all())
    assert tally.tally(entries, TODAY - DAY).died == 1
    assert tally.tally(entries).died == 3


def test_a_taking_back_taken_back_leaves_the_first_line_standing(world, browns):
    entry = count(world, browns, "died", 3)
    opposite = counts.reverse(world.by, entry_id=entry.pk)
    counts.reverse(world.by, entry_id=opposite.pk)
    stands = tally.standing(list(browns.count_entries.all()))
    assert [line.kind for line in stands] == ["arrived", "died"]
