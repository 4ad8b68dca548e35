"""The week's grid, how fair it is, and what is kept of chores nobody can do."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.models import Assignment, Away, RotaRules
from farm.phrase import Phrase, Quantity
from farm.planning.rota.records import Unfilled
from farm.queries import rota as reads
from farm.queries.rota_short import to_json
from farm.services import chores, members, rota
from tests.conftest import TODAY, World
from tests.farm.judging import day
from tests.farm.rota_world import able, begin, key, people, refresh, rows


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test here needs the best rota there is."""
    monkeypatch.setattr(rota, "STEPS", 2_000)


@pytest.fixture
def who(world: World):
    found = people(world)
    world.add_batch("Browns", housing="Brooder 1")
    return found


def week(world: World, first=TODAY, today=TODAY):
    return reads.week(world.farm, first, today)


def test_the_grid_has_everything_given_out_once_for_each_of_its_people(world, who):
    begin(world)
    found = week(world)
    seen = {
        (work.due.item.occurrence, member) for (_, _, member), works in found.cells.items() for work in works
    }
    assert seen == {(k, member) for k, given in rows(world).items() for member in given}
    assert found.days == tuple(day(n) for n in range(7))
    assert [each.name for each in found.members] == ["Ada", "Ben", "Cara"]


def test_minutes_are_of_a_day_of_a_member_or_of_all(world, who):
    begin(world)
    found = week(world)
    ben = who["Ben"].member.pk
    given = Assignment.objects.filter(day__lt=day(7))
    assert found.minutes() == sum(given.values_list("minutes", flat=True))
    assert found.minutes(member=ben) == sum(given.filter(member=ben).values_list("minutes", flat=True))
    assert found.minutes(day(2)) == sum(given.filter(day=day(2)).values_list("minutes", flat=True))
    assert sum(found.minutes(each, ben) for each in found.days) == found.minutes(member=ben)


def test_what_nobody_can_do_stands_apart_with_the_reason(world, who):
    able(who["Ben"], can_heat=False)
    able(who["Ada"], rounds=[code for code in range(21) if code % 3 != 2])
    begin(world)
    found = week(world)
    evening = {work.due.item.job for work in found.nobody[TODAY, "evening"]}
    assert "heat_check" in evening
    why = found.why[key(world, "heat_check", round="evening")]
    assert (why.missing, bool(str(why.reason)), bool(why.would_fill)) == (1, True, True)


def test_what_is_ticked_is_not_missed_and_stands_with_whoever_did_it(world, who):
    for by in who.values():
        able(by, rounds=[])
    begin(world)
    source, due, round = look = key(world, "look")
    chores.mark(who["Ben"], source=source, due=due, round=round, title="Look", minutes=4)
    found = week(world)
    assert look not in {work.due.item.occurrence for work in found.nobody[TODAY, "morning"]}
    (work,) = found.cells[TODAY, "morning", who["Ben"].member.pk]
    assert (work.due.item.occurrence, work.due.open) == (look, False)


def test_past_days_and_days_beyond_the_rota_miss_nobody(world, who):
    begin(world)
    assert week(world, day(-7)).nobody == {}
    assert week(world, day(7)).nobody == {}
    assert week(world, day(7)).works


def test_without_a_rota_nobody_is_given_anything_nor_missed(world, who):
    found = week(world)
    assert (found.cells, found.nobody, found.why) == ({}, {}, {})
    assert found.works


def test_decisions_and_days_away_are_shown(world, who):
    begin(world)
    look = key(world, "look", 1)
    rota.give(world.by, occurrences=[look], member_id=who["Ben"].member.pk)
    Away.objects.create(farm=world.farm, member=who["Cara"].member, start=day(-3), end=day(2))
    found = week(world)
    (work,) = (each for each in found.works if each.due.item.occurrence == look)
    assert work.pinned == {who["Ben"].member.pk}
    assert found.away == {(who["Cara"].member.pk, day(0)), (who["Cara"].member.pk, day(1))}


def test_whoever_left_is_in_the_weeks_they_had_work_in(world, who):
    begin(world)
    Assignment.objects.filter(day=TODAY).update(day=day(-7))
    members.leave(world.by, member_id=who["Ben"].member.pk)
    refresh(world)
    assert [each.name for each in week(world).members] == ["Ada", "Cara"]


def test_fairness_adds_up_to_all_the_work_there_is(world, who):
    begin(world, weeks=2, fair_days=28)
    found = reads.fairness(world.farm, TODAY)
    assert [row.member.name for row in found] == ["Ada", "Ben", "Cara"]
    assert sum(row.target for row in found) == pytest.approx(sum(row.done + row.planned for row in found))
    assert all(row.reachable >= row.done + row.planned for row in found)


def test_what_was_ticked_moves_from_planned_to_done(world, who):
    begin(world)
    before = {row.member.name: row for row in reads.fairness(world.farm, TODAY)}
    source, due, round = look = key(world, "look")
    had = next(name for name, by in who.items() if by.member.pk in rows(world)[look])
    minutes = Assignment.objects.get(source=source, due=due, round=round).minutes
    chores.mark(who[had], source=source, due=due, round=round, title="Look", minutes=minutes)
    after = {row.member.name: row for row in reads.fairness(world.farm, TODAY)}
    assert after[had].done - before[had].done == before[had].planned - after[had].planned == minutes
    assert after[had].off == pytest.approx(before[had].off)


def test_whoever_cannot_have_their_part_is_told_why(world, who):
    able(who["Ben"], rounds=[0])
    begin(world)
    found = {row.member.name: row for row in reads.fairness(world.farm, TODAY)}
    assert found["Ben"].why is None or "Ben" in str(found["Ben"].why)
    assert found["Ben"].planned <= found["Ben"].reachable


def test_without_a_rota_there_is_no_fairness(world, who):
    assert reads.fairness(world.farm, TODAY) == []


values = st.one_of(
    st.text(max_size=9),
    st.integers(-9999, 9999),
    st.floats(-99, 99),
    st.dates(date(2000, 1, 1)),
    st.builds(Quantity, st.floats(-9, 9), st.sampled_from(["m2", "degC"]), st.integers(0, 2), st.booleans()),
)
phrases = st.builds(
    Phrase,
    st.text(max_size=30),
    st.dictionaries(
        st.text(max_size=5),
        values
        | st.builds(Phrase, st.text(max_size=9), st.dictionaries(st.text(max_size=5), values, max_size=2)),
        max_size=4,
    ),
    st.text(max_size=9),
    st.text(max_size=9),
)
keys = st.tuples(
    st.text(min_size=1, max_size=20), st.dates(date(2000, 1, 1)), st.sampled_from(["morning", "evening"])
)


@given(
    st.lists(
        st.builds(Unfilled, keys, st.integers(1, 2), phrases, st.lists(phrases, max_size=3).map(tuple)),
        unique_by=lambda each: each.key,
        max_size=4,
    )
)
def test_what_is_short_is_read_as_it_was_written(unfilled):
    import json

    found = reads.short(RotaRules(unfilled=json.loads(json.dumps(to_json(unfilled)))))
    assert set(found) == {each.key for each in unfilled}
    for each in unfilled:
        one = found[each.key]
        assert (one.missing, one.reason, one.would_fill) == (each.missing, each.reason, each.would_fill)


def test_without_rules_nothing_is_short():
    assert reads.short(None) == {}
