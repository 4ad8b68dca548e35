"""Days away that come from outside: they fill what is free, follow what is said, and leave what is not theirs."""

from __future__ import annotations

from datetime import date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra.django import TestCase

from farm.errors import BadInput
from farm.models import Assignment, Away, Farm, HistoryEntry, Member, Pin
from farm.models.member import Role
from farm.services import aways, history, members, outside_days
from farm.services.writing import write
from tests.conftest import NOON, TODAY, World, actor, make_world


def day(n: int) -> date:
    return TODAY + timedelta(days=n)


@pytest.fixture
def finn(world: World) -> Member:
    return members.add(world.by, name="Finn", role="helper")


def tell(
    world: World, member: Member, *spans: tuple[int, int], outside: str = "school", now: datetime = NOON
) -> int:
    by = actor(world.farm, world.keeper, now)
    with write(by, "tell", role=Role.CHILD) as log:
        return outside_days.replace(
            log, member, outside=outside, note="School", spans=[(day(a), day(b)) for a, b in spans]
        )


def rows(member: Member) -> list[tuple[int, int, str]]:
    found = Away.objects.filter(member=member)
    return [((row.start - TODAY).days, (row.end - TODAY).days, row.outside) for row in found]


def test_days_from_outside_are_days_away_with_where_they_are_from(world: World, finn: Member):
    assert tell(world, finn, (3, 5), (9, 10)) == 2
    assert rows(finn) == [(3, 5, "school"), (9, 10, "school")]
    assert {row.note for row in Away.objects.all()} == {"School"}


def test_the_same_again_writes_nothing(world: World, finn: Member):
    tell(world, finn, (3, 5), (9, 10))
    before = Farm.objects.get().version, HistoryEntry.objects.count()
    assert tell(world, finn, (3, 5), (9, 10)) == 0
    assert (Farm.objects.get().version, HistoryEntry.objects.count()) == before


def test_only_what_differs_is_written(world: World, finn: Member):
    tell(world, finn, (3, 5), (9, 10), (20, 22))
    kept = {row.start: row.pk for row in Away.objects.all()}
    assert tell(world, finn, (3, 5), (9, 12), (15, 16)) == 3  # one longer, one gone, one new
    assert rows(finn) == [(3, 5, "school"), (9, 12, "school"), (15, 16, "school")]
    assert {Away.objects.get(start=day(n)).pk for n in (3, 9)} == {kept[day(3)], kept[day(9)]}


def test_days_somebody_entered_stay_and_are_not_entered_twice(world: World, finn: Member):
    aways.add(world.by, member_id=finn.pk, start=day(4), end=day(6), note="Grandma")
    tell(world, finn, (3, 8), (4, 5))
    assert rows(finn) == [(3, 4, "school"), (4, 6, ""), (6, 8, "school")]


def test_two_calendars_share_a_day_without_telling_it_twice(world: World, finn: Member):
    tell(world, finn, (3, 6), outside="school")
    tell(world, finn, (5, 8), outside="club")
    assert rows(finn) == [(3, 6, "school"), (6, 8, "club")]
    tell(world, finn, outside="school")
    tell(world, finn, (5, 8), outside="club")
    assert rows(finn) == [(5, 8, "club")]


def test_the_past_stays_whatever_is_said_later(world: World, finn: Member):
    tell(world, finn, (0, 6))
    later = NOON + timedelta(days=3)
    assert tell(world, finn, (3, 6), now=later) == 0  # the same, seen from its middle
    assert tell(world, finn, (3, 5), now=later) == 1
    assert rows(finn) == [(0, 5, "school")]
    tell(world, finn, now=later)
    assert rows(finn) == [(0, 3, "school")]
    tell(world, finn, (3, 4), now=later)
    assert rows(finn) == [(0, 3, "school"), (3, 4, "school")]


def test_days_that_are_over_are_not_entered(world: World, finn: Member):
    tell(world, finn, (-9, -3), (-2, 2))
    assert rows(finn) == [(0, 2, "school")]


def test_who_enters_days_by_hand_takes_them_over(world: World, finn: Member):
    tell(world, finn, (3, 10))
    mine = aways.add(world.by, member_id=finn.pk, start=day(5), end=day(7))
    assert rows(finn) == [(3, 5, "school"), (5, 7, ""), (7, 10, "school")]
    assert tell(world, finn, (3, 10)) == 0
    aways.remove(world.by, away_id=mine.pk)
    tell(world, finn, (3, 10))
    assert rows(finn) == [(3, 10, "school")]


def test_days_entered_over_those_from_outside_can_be_undone_and_brought_back(world: World, finn: Member):
    tell(world, finn, (3, 10))
    mine = aways.add(world.by, member_id=finn.pk, start=day(5), end=day(7))
    history.undo(world.by, entry_id=HistoryEntry.objects.get(verb="add days away").pk)
    tell(world, finn, (3, 10))
    assert rows(finn) == [(3, 10, "school")]
    mine = aways.add(world.by, member_id=finn.pk, start=day(5), end=day(7))
    aways.remove(world.by, away_id=mine.pk)
    tell(world, finn, (3, 10))
    history.undo(world.by, entry_id=HistoryEntry.objects.get(verb="remove days away").pk)
    assert rows(finn) == [(3, 5, "school"), (5, 7, ""), (7, 10, "school")]


def test_days_from_outside_are_neither_removed_nor_undone_by_hand(world: World, finn: Member):
    tell(world, finn, (3, 5))
    with pytest.raises(BadInput, match="School"):
        aways.remove(world.by, away_id=Away.objects.get().pk)
    entry = HistoryEntry.objects.get(verb="tell")
    assert not history.can_undo(entry)
    with pytest.raises(BadInput):
        history.undo(world.by, entry_id=entry.pk)
    assert rows(finn) == [(3, 5, "school")]


def test_a_decision_holds_no_chore_on_days_that_are_new_and_every_other_stays(world: World, finn: Member):
    tell(world, finn, (9, 11))
    for n in (9, 10, 11, 13, 20, 21):
        chore = {"source": "room:1/look", "due": day(n), "round": "morning"}
        Assignment.objects.create(farm=world.farm, member=finn, day=day(n), **chore)
        Pin.objects.create(farm=world.farm, member=finn, **chore)
    tell(world, finn, (9, 12), (20, 21))  # longer by a day, and new ones
    assert [pin.due for pin in Pin.objects.order_by("due")] == [day(n) for n in (9, 10, 13, 21)]


def test_one_members_days_are_not_anothers(world: World, finn: Member):
    tell(world, finn, (3, 5))
    tell(world, world.keeper, (4, 6))
    tell(world, finn)
    assert (rows(finn), rows(world.keeper)) == ([], [(4, 6, "school")])


def test_an_undo_from_before_days_had_an_origin_still_works(world: World, finn: Member):
    aways.add(world.by, member_id=finn.pk, start=day(4), end=day(6))
    entry = HistoryEntry.objects.get(verb="add days away")
    change = entry.changes.get(model="away")
    del change.after["outside"]
    change.save()
    history.undo(world.by, entry_id=entry.pk)
    assert rows(finn) == []


SPANS = st.lists(
    st.tuples(st.integers(0, 20), st.integers(1, 6)).map(lambda each: (each[0], sum(each))), max_size=4
)


@given(SPANS, SPANS)
def test_taking_days_out_of_days_is_taking_out_of_sets(spans, taken):
    spans = [(day(a), day(b)) for a, b in spans]
    taken = [(day(a), day(b)) for a, b in taken]
    left = outside_days.without(spans, taken)
    assert all(start < end for start, end in left)
    assert _days(left) == _days(spans) - _days(taken)


class AnyDays(TestCase):
    @given(SPANS, SPANS, st.integers(0, 10))
    def test_no_day_is_told_twice_and_none_is_lost(self, first, second, later: int):
        world = make_world()
        disjoint = [[(a, b) for a, b in _merged(each)] for each in (first, second)]
        aways.add(world.by, member_id=world.keeper.pk, start=day(8), end=day(10))
        tell(world, world.keeper, *disjoint[0])
        now = NOON + timedelta(days=later)
        tell(world, world.keeper, *disjoint[1], now=now)
        found = [(day(a), day(b)) for a, b, _outside in rows(world.keeper)]
        assert sum((b - a).days for a, b in found) == len(_days(found))
        told = {one for one in _days([(day(a), day(b)) for a, b in disjoint[1]]) if one >= day(later)}
        past = {one for one in _days([(day(a), day(b)) for a, b in disjoint[0]]) if one < day(later)}
        assert _days(found) == told | past | {day(8), day(9)}


def _days(spans) -> set[date]:
    return {start + timedelta(days=n) for start, end in spans for n in range((end - start).days)}


def _merged(spans) -> list[tuple[int, int]]:
    found: list[tuple[int, int]] = []
    for a, b in sorted(spans):
        if found and found[-1][1] >= a:
            found[-1] = (found[-1][0], max(found[-1][1], b))
        else:
            found.append((a, b))
    return found
