"""What somebody's absence would do to the rota, before anything is saved."""

from __future__ import annotations

import time

import pytest

from farm.models import Pin
from farm.services import rota
from tests.conftest import TODAY, World
from tests.farm.judging import day, everything
from tests.farm.rota_world import able, adult, begin, key, people, rows


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test here needs the best rota there is."""
    monkeypatch.setattr(rota, "STEPS", 4_000)
    monkeypatch.setattr(rota, "PREVIEW_STEPS", 4_000)


@pytest.fixture
def who(world: World):
    found = people(world)
    world.add_batch("Browns", housing="Brooder 1")
    begin(world)
    return found


def away(by, start, end):
    return [(by.member.pk, day(start), day(end))]


def test_it_says_who_does_what_instead_and_writes_nothing(world, who):
    before = everything()
    found = rota.what_if(world.farm, TODAY, aways=away(who["Ben"], 1, 3))
    assert everything() == before
    ben = str(who["Ben"].member.pk)
    had = {key[1:] for key, people in rows(world).items() if who["Ben"].member.pk in people}
    lost = {(each.day, each.round) for each in found.changes if ben in each.before and ben not in each.after}
    assert {turn for turn in had if day(1) <= turn[0] < day(3)} <= lost
    assert found.unfilled_before == found.unfilled_after == ()
    assert all(each.after for each in found.changes)


def test_what_then_stays_undone_is_named_with_what_would_help(world, who):
    able(who["Ada"], can_heat=False)
    found = rota.what_if(world.farm, TODAY, aways=away(who["Ben"], 1, 2))
    new = {each.key for each in found.unfilled_after} - {each.key for each in found.unfilled_before}
    assert key(world, "heat_check", 1) in new
    (heat,) = (each for each in found.unfilled_after if each.key == key(world, "heat_check", 1))
    assert any("Ben" in str(way) or "Ada" in str(way) for way in heat.would_fill)


def test_somebody_who_leaves_is_in_nothing_after(world, who):
    ben = str(who["Ben"].member.pk)
    found = rota.what_if(world.farm, TODAY, leaving=[who["Ben"].member.pk])
    assert not any(ben in each.after for each in found.changes)
    assert {each.person for each in found.loads_before} - {each.person for each in found.loads_after} == {ben}


def test_absence_lowers_a_part_and_raises_the_others(world, who):
    found = rota.what_if(world.farm, TODAY, aways=away(who["Ben"], 0, 5))
    before = {each.person: each.target for each in found.loads_before}
    after = {each.person: each.target for each in found.loads_after}
    ben = str(who["Ben"].member.pk)
    assert after[ben] < before[ben]
    assert all(after[each] >= before[each] for each in after if each != ben)


def test_a_decision_does_not_hold_whoever_is_not_there(world, who):
    source, due, round = look = key(world, "look", 1)
    rota.give(world.by, occurrences=[look], member_id=who["Ben"].member.pk)
    found = rota.what_if(world.farm, TODAY, aways=away(who["Ben"], 1, 2))
    ben = str(who["Ben"].member.pk)
    assert not any(ben in each.after for each in found.changes if each.day == day(1))
    assert Pin.objects.filter(source=source, due=due, round=round).exists()


def test_with_everybody_gone_it_still_answers(world, who):
    found = rota.what_if(world.farm, TODAY, leaving=[by.member.pk for by in who.values()])
    assert len(found.unfilled_after) == len(rows(world))
    assert all(str(each.reason) for each in found.unfilled_after)
    assert found.loads_after == ()


def test_without_a_rota_nothing_would_change(world, who):
    rota.stop(world.by)
    assert rota.what_if(world.farm, TODAY, aways=away(who["Ben"], 0, 5)) == rota.WhatIf()


def test_rounds_that_are_over_are_not_talked_about(world, who):
    found = rota.what_if(world.farm, TODAY, aways=away(who["Ben"], 0, 1), closed={"morning", "midday"})
    assert {each.round for each in found.changes if each.day == TODAY} <= {"evening"}


def test_a_month_of_eight_people_is_answered_while_one_waits(world, who, monkeypatch):
    monkeypatch.setattr(rota, "PREVIEW_STEPS", 20_000)
    for number in range(5):
        adult(world, f"Helper {number}")
    for number in range(2):
        world.add_housing(f"Barn {number}", area_m2=20.0)
        world.add_batch(f"More {number}", housing=f"Barn {number}", age=20)
    rota.change_rules(world.by, expected_version=None, weeks=4, fair_days=42)
    start = time.process_time()
    rota.what_if(world.farm, TODAY, aways=away(who["Ben"], 0, 3))
    assert time.process_time() - start < 5  # about a second; slow machines are no failure
