"""Days away: who may enter them, what is refused, and the way back."""

from __future__ import annotations

from contextlib import suppress
from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.errors import BadInput, NotAllowed, NotFound, Stale
from farm.models import Assignment, Away, HistoryEntry, Member, Pin
from farm.queries import aways as reads
from farm.services import aways, history, members
from tests.conftest import TODAY, World


def day(n: int) -> date:
    return TODAY + timedelta(days=n)


@pytest.fixture
def finn(world: World) -> Member:
    return members.add(world.by, name="Finn", role="helper")


def add(world: World, member: Member, start: int, end: int, **fields: str) -> Away:
    return aways.add(world.by, member_id=member.pk, start=day(start), end=day(end), **fields)


def refused(world: World, member: Member, start: int, end: int) -> dict[str, list[object]]:
    """Return what is said, by field, when these days are entered."""
    before = Away.objects.count()
    with pytest.raises(BadInput) as caught:
        add(world, member, start, end)
    assert Away.objects.count() == before
    return dict(caught.value.fields)


def test_days_away_are_kept_and_told_in_the_history(world: World, finn: Member):
    away = add(world, finn, 2, 5, note=" at the lake ")

    assert (away.start, away.end, away.note) == (day(2), day(5), "at the lake")
    assert HistoryEntry.objects.order_by("-pk")[0].summary == "Finn is away: 3 May – 5 May"


@pytest.mark.parametrize(
    ("start", "end", "said"),
    [
        (date(2026, 5, 3), date(2026, 5, 4), "3 May"),
        (date(2026, 5, 3), date(2026, 5, 5), "3 May – 4 May"),
        (date(2026, 12, 31), date(2027, 1, 1), "31 December"),
        (date(2026, 12, 31), date(2027, 1, 2), "31 December 2026 – 1 January 2027"),
    ],
)
def test_people_say_the_last_day_they_are_away(start: date, end: date, said: str):
    assert aways.days(Away(start=start, end=end)) == said


@pytest.mark.parametrize("role", ["helper", "child"])
def test_everybody_enters_their_own_days_and_nobody_elses(world: World, finn: Member, role: str):
    by = world.add_member("Kim", role)

    away = aways.add(by, member_id=by.member.pk, start=day(1), end=day(2))
    for verb in (
        lambda: aways.add(by, member_id=finn.pk, start=day(1), end=day(2)),
        lambda: aways.remove(by, away_id=add(world, finn, 1, 2).pk),
    ):
        with pytest.raises(NotAllowed):
            verb()
    aways.remove(by, away_id=away.pk)

    assert [row.member for row in Away.objects.all()] == [finn]


def test_days_of_somebody_of_another_farm_or_who_left_are_not_found(
    world: World, elsewhere: World, finn: Member
):
    theirs = add(elsewhere, elsewhere.keeper, 1, 2)
    members.leave(world.by, member_id=finn.pk)

    for member in (elsewhere.keeper, finn):
        with pytest.raises(NotFound):
            add(world, member, 1, 2)
    with pytest.raises(NotFound):
        aways.remove(world.by, away_id=theirs.pk)


@pytest.mark.parametrize(
    ("start", "end", "field"),
    [(5, 5, "end"), (5, 4, "end"), (401, 402, "start"), (-401, 1, "start"), (0, 401, "end")],
)
def test_days_that_cannot_be_right_are_refused_at_their_field(world, finn, start: int, end: int, field: str):
    assert list(refused(world, finn, start, end)) == [field]


def test_somebody_may_be_away_for_four_hundred_days_and_have_been_before(world: World, finn: Member):
    add(world, finn, 0, 400)
    add(world, finn, -400, -399)

    assert Away.objects.count() == 2


@pytest.mark.parametrize(
    ("start", "end", "field"),
    [(10, 11, "start"), (12, 20, "start"), (5, 11, "end"), (5, 30, "end"), (13, 14, "start")],
)
def test_days_away_of_one_member_never_overlap(world: World, finn: Member, start: int, end: int, field: str):
    add(world, finn, 10, 14)

    assert refused(world, finn, start, end) == {field: ["Finn is away already: 11 May – 14 May."]}


def test_days_away_may_follow_each_other_and_others_may_be_away_too(world: World, finn: Member):
    add(world, finn, 10, 14)
    add(world, finn, 14, 15)
    add(world, finn, 9, 10)
    add(world, world.keeper, 10, 14)

    assert [away.start for away in reads.of_member(finn.pk, TODAY)] == [day(9), day(10), day(14)]


def test_days_away_taken_back_come_back_by_undo(world: World, finn: Member):
    away = add(world, finn, 10, 14, note="lake")
    aways.remove(world.by, away_id=away.pk)
    assert not Away.objects.exists()

    entry = HistoryEntry.objects.order_by("-pk")[0]
    assert entry.summary == "Finn is not away: 11 May – 14 May"
    assert history.can_undo(entry)
    history.undo(world.by, entry_id=entry.pk)

    back = Away.objects.get()
    assert (back.member, back.start, back.end, back.note) == (finn, day(10), day(14), "lake")


def test_what_is_undone_goes_again(world: World, finn: Member):
    add(world, finn, 10, 14)

    history.undo(world.by, entry_id=HistoryEntry.objects.order_by("-pk")[0].pk)

    assert not Away.objects.exists()


def test_undo_brings_no_overlap_back(world: World, finn: Member):
    away = add(world, finn, 10, 14)
    aways.remove(world.by, away_id=away.pk)
    entry = HistoryEntry.objects.order_by("-pk")[0]
    add(world, finn, 12, 13)

    with pytest.raises(BadInput) as caught:
        history.undo(world.by, entry_id=entry.pk)

    assert str(caught.value) == "They are away on some of these days again."
    assert [row.start for row in Away.objects.all()] == [day(12)]


def test_days_away_are_undone_once(world: World, finn: Member):
    away = add(world, finn, 10, 14)
    made = HistoryEntry.objects.order_by("-pk")[0]
    aways.remove(world.by, away_id=away.pk)

    with pytest.raises(Stale):
        history.undo(world.by, entry_id=made.pk)


def test_a_decision_does_not_hold_a_chore_for_somebody_who_is_away(world: World, finn: Member):
    for n in (9, 10, 13, 14):
        chore = {"source": "room:1/look", "due": day(n), "round": "morning"}
        Assignment.objects.create(farm=world.farm, member=finn, day=day(n), **chore)
        Pin.objects.create(farm=world.farm, member=finn, **chore)

    add(world, finn, 10, 14)

    assert [pin.due for pin in Pin.objects.order_by("due")] == [day(9), day(14)]


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(spans=st.lists(st.tuples(st.integers(-5, 25), st.integers(1, 9)), max_size=8))
def test_whatever_is_entered_a_day_is_never_away_twice(world: World, spans):
    Away.objects.all().delete()
    for start, length in spans:
        with suppress(BadInput):
            add(world, world.keeper, start, start + length)
    found = [
        row.start + timedelta(days=n) for row in Away.objects.all() for n in range((row.end - row.start).days)
    ]
    assert len(found) == len(set(found))
    # Nothing is refused that would have been free: each span is there, or meets one that is.
    for start, length in spans:
        assert reads.overlapping(world.keeper.pk, day(start), day(start + length)) is not None


def test_days_that_are_over_are_not_coming(world: World, finn: Member):
    add(world, finn, -3, 0)
    current, later = add(world, finn, 0, 1), add(world, finn, 5, 6)

    assert reads.coming(world.farm.pk, TODAY) == {finn.pk: (current, later)}
    assert reads.of_member(finn.pk, TODAY) == [current, later]


def test_one_farms_days_are_not_anothers(world: World, elsewhere: World):
    add(elsewhere, elsewhere.keeper, 1, 2)

    assert reads.coming(world.farm.pk, TODAY) == {}
