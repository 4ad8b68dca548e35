"""How each order line stood, written down day by day."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.errors import NotFound
from farm.models import Farm, LineOdds
from farm.queries import allotments
from farm.services import counts, odds, orders, upkeep
from tasks import jobs
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day
from tests.farm.orders_world import give, line, take


def record(world: World, days: int = 0) -> int:
    return odds.record_odds(farm_id=world.farm.pk, now=NOON + timedelta(days=days))


def test_what_is_written_is_what_the_allotment_says(world: World):
    world.add_batch("Browns", birds=30)
    first, second = take(world), take(world)

    assert record(world) == 2

    for order, allotted in ((first, 20), (second, 9)):
        row, said = LineOdds.objects.get(line__order=order), allotments.for_farm(world.farm, TODAY)
        shown = said.odds(row.line_id)
        assert (row.day, row.allotted) == (TODAY, allotted)
        assert shown is not None
        assert (row.chance, row.expected, row.low, row.high) == (
            shown.chance,
            shown.expected,
            shown.low,
            shown.high,
        )
    assert LineOdds.objects.get(line__order=first).chance > LineOdds.objects.get(line__order=second).chance


def test_a_day_has_one_row_a_line_the_last_one_said(world: World):
    batch, order = world.add_batch("Browns", birds=30), take(world)
    record(world)
    assert record(world) == 0

    counts.add(world.by, batch_id=batch.pk, kind="died", birds=15, day=TODAY)

    assert record(world) == 1
    row = LineOdds.objects.get()
    assert (row.allotted, row.line.order) == (14, order)
    assert record(world, days=1) == 1
    assert list(LineOdds.objects.order_by("day").values_list("day", flat=True)) == [TODAY, day(1)]


def test_lines_that_want_nothing_are_left_alone(world: World):
    batch = world.add_batch("Browns")
    full, _quote, off = take(world, line(birds=2)), take(world, status="quote"), take(world)
    give(world, full, batch, 2)
    orders.set_status(world.by, order_id=off.pk, status="cancelled", expected_version=None)

    assert record(world) == 0
    assert not LineOdds.objects.exists()


def test_neither_the_farms_version_nor_its_history_tell_of_it(world: World):
    world.add_batch("Browns")
    take(world)
    before = Farm.objects.get(pk=world.farm.pk).version

    record(world)

    assert Farm.objects.get(pk=world.farm.pk).version == before


def test_every_farm_has_its_own(world: World, elsewhere: World):
    for each in (world, elsewhere):
        each.add_batch("Browns")
        take(each)

    record(world)

    assert {row.farm_id for row in LineOdds.objects.all()} == {world.farm.pk}
    with pytest.raises(NotFound):
        odds.record_odds(farm_id=10**9, now=NOON)


def test_the_hourly_job_writes_the_days_odds(world: World, time_machine):
    time_machine.move_to(NOON + timedelta(days=2))
    world.add_batch("Browns")
    take(world)

    jobs.roll_over(farm_id=world.farm.pk)

    assert LineOdds.objects.get().day == day(2)
    assert upkeep.roll_over(farm_id=world.farm.pk, now=NOON) == 0


def sent(monkeypatch: pytest.MonkeyPatch, world: World, act: object) -> int:
    """Return how often `act` asks for new odds."""
    asked: list[str] = []
    monkeypatch.setattr("farm.dispatch.after_commit", lambda name, **ids: asked.append(name))
    act()  # type: ignore[operator]
    return asked.count("refresh_odds")


def test_losses_orders_and_hand_overs_ask_for_new_odds_and_other_writes_do_not(
    world: World, monkeypatch: pytest.MonkeyPatch
):
    batch = world.add_batch("Browns")

    def lose() -> None:
        counts.add(world.by, batch_id=batch.pk, kind="died", birds=1, day=TODAY)

    assert sent(monkeypatch, world, lose) == 0  # nobody has ordered anything
    orders_ = []
    assert sent(monkeypatch, world, lambda: orders_.append(take(world))) == 1
    assert sent(monkeypatch, world, lose) == 1
    assert sent(monkeypatch, world, lambda: give(world, orders_[0], batch, 1)) == 1
    assert sent(monkeypatch, world, lambda: world.add_housing("Pen 9")) == 0
