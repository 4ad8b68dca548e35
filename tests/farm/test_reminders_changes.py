"""Changed rounds: gathered, told once in two hours, only what is left of it, and not to whoever did it."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.models import Notice, ReminderClock, ReminderWishes
from farm.planning.rota.records import CellChange
from farm.services import rota
from farm.services.reminders import changes
from farm.services.rota_rows import rota_changed
from tests.conftest import NOON, TODAY
from tests.farm import rota_world
from tests.farm.judging import day
from tests.farm.reminders_world import HOUR, MINUTE, channel, chicks, letters, step, told, wishes

SOON = NOON + 5 * MINUTE


@pytest.fixture
def two(world):
    """Ada and Ben, who want to hear of changes."""
    told(world.by, changed=True)
    ben = rota_world.adult(world, "Ben")
    told(ben, changed=True)
    return {"world": world, "ada": str(world.keeper.pk), "ben": str(ben.member.pk)}


def cell(before, after, offset=1, name="morning", group="Barn", minutes=20):
    return CellChange(day(offset), name, group, tuple(before), tuple(after), minutes)


def note(two, *cells, now=NOON, but=None):
    changes.note(farm_id=two["world"].farm.pk, cells=cells, now=now, but=but)


def test_it_says_what_is_new_and_what_is_no_longer_theirs(two):
    note(two, cell([two["ada"]], [two["ben"]]), cell([two["ben"]], [two["ada"]], 2, "evening", "", 1))
    step(two["world"], SOON)
    assert sorted(letters()) == [("ada", "Your rounds have changed"), ("ben", "Your rounds have changed")]
    bodies = dict(Notice.objects.values_list("member__name", "body"))
    assert bodies["Ben"] == (
        "New for you:\nSat 2 May, Morning round: Barn (20 minutes)\n\n"
        "No longer yours:\nSun 3 May, Evening round (1 minute)"
    )
    assert bodies["Ada"].startswith("New for you:\nSun 3 May")


def test_who_stays_in_a_cell_hears_nothing(two):
    note(two, cell([two["ada"]], [two["ada"], two["ben"]]))
    step(two["world"], SOON)
    assert letters() == [("ben", "Your rounds have changed")]


def test_several_changes_in_a_row_are_one_message(two):
    for n in range(4):
        note(two, cell([two["ada"]], [two["ben"]], 1 + n), now=NOON + n * MINUTE)
    step(two["world"], SOON)
    assert len(letters()) == 2
    assert Notice.objects.get(member__name="Ben").body.count("May") == 4


def test_what_was_taken_and_given_back_is_nothing(two):
    note(two, cell([two["ada"]], [two["ben"]]))
    note(two, cell([two["ben"]], [two["ada"]]))
    step(two["world"], SOON)
    assert (letters(), Notice.objects.count()) == ([], 0)


def test_after_one_message_the_next_waits_two_hours(two):
    world = two["world"]
    note(two, cell([], [two["ben"]], 1))
    step(world, SOON)
    letters()
    note(two, cell([], [two["ben"]], 2), now=NOON + 20 * MINUTE)
    step(world, SOON + 2 * HOUR - MINUTE)
    assert letters() == []
    step(world, SOON + 2 * HOUR)
    assert letters() == [("ben", "Your rounds have changed")]


def test_a_farm_is_looked_at_in_time_for_it(two):
    world = two["world"]
    step(world, NOON - HOUR)
    note(two, cell([], [two["ben"]]))
    assert ReminderClock.objects.get().next_at == SOON


def test_only_the_next_seven_days_are_told_of(two):
    note(two, cell([], [two["ben"]], 7), cell([], [two["ben"]], -1), cell([], [two["ben"]], 6))
    step(two["world"], SOON)
    assert Notice.objects.get().body.count("May") == 1


def test_what_is_past_when_it_is_told_is_left_out(two):
    ReminderWishes.objects.update(quiet_from="10:00", quiet_to="09:00")  # told at nine alone
    note(two, cell([], [two["ben"]], 0), cell([], [two["ben"]], 1))
    step(two["world"], NOON + 21 * HOUR)
    body = Notice.objects.get().body
    assert "Fri 1 May" not in body
    assert "Sat 2 May" in body


def test_whoever_made_the_change_knows_it(two):
    ada = int(two["ada"])
    note(two, cell([two["ada"]], [two["ben"]]), but=ada)
    step(two["world"], SOON)
    assert [who for who, _subject in letters()] == ["ben"]


@pytest.mark.parametrize("wanted", [{"changed": False}, None])
def test_who_does_not_want_to_hear_does_not(world, wanted):
    channel(world.keeper)
    if wanted is not None:
        wishes(world.keeper, **wanted)
    changes.note(farm_id=world.farm.pk, cells=[cell([], [str(world.keeper.pk)])], now=NOON)
    assert Notice.objects.count() == 0


def test_who_stopped_wanting_it_meanwhile_does_not_hear(two):
    note(two, cell([], [two["ben"]]))
    ReminderWishes.objects.update(changed=False)
    step(two["world"], SOON)
    assert (letters(), Notice.objects.count()) == ([], 0)


def test_the_signal_of_the_rota_is_heard(two):
    world = two["world"]
    rota_changed.send(None, farm=world.farm, changes=(cell([], [two["ben"]]),), now=NOON, by_member=None)
    assert Notice.objects.get().key == changes.GATHERING


def test_a_keeper_who_gives_a_round_to_somebody_tells_them_and_the_one_before(world):
    chicks(world)
    people = rota_world.people(world)
    for by in people.values():
        told(by, changed=True)
    rota_world.begin(world)
    assert Notice.objects.count() == 0  # days given out for the first time
    of = {by.member.pk: name for name, by in people.items()}
    evening = {key: pks for key, pks in rota_world.rows(world).items() if key[1:] == (day(2), "evening")}
    before = {of[pk] for pks in evening.values() for pk in pks}
    after = "Ben" if before != {"Ben"} else "Ada"
    rota.give(world.by, occurrences=list(evening), member_id=people[after].member.pk)
    step(world, SOON)
    assert {who.capitalize() for who, _subject in letters()} == (before ^ {after}) - {"Ada"}


PEOPLE = ("1", "2", "3")


@given(st.lists(st.tuples(st.integers(0, 3), st.sampled_from(PEOPLE), st.sampled_from(PEOPLE)), max_size=30))
def test_what_is_gathered_is_the_difference_between_the_first_and_the_last(moves):
    """However often cells change hands, a member is told what differs from what they knew, nothing else."""
    start = dict.fromkeys(range(4), "1")
    have, gathered = dict(start), {}
    me = changes_reader("1")
    for n, _old, new in moves:
        gathered = changes._merged(gathered, changes._of(me, [cell([have[n]], [new], 1, group=str(n))]))
        have[n] = new
    expected = {str(n): -1 for n in start if have[n] != "1"}
    assert {key.split("/")[2]: said[0] for key, said in gathered.items()} == expected


def changes_reader(key):
    from farm.models import Member
    from farm.queries.reminders import Reader

    return Reader(Member(pk=int(key)), None, ())


def test_a_line_is_ordered_by_day_and_round_and_a_group_may_have_any_name(two):
    note(
        two,
        cell([], [two["ben"]], 2, "morning", "a/b"),
        cell([], [two["ben"]], 1, "evening", "a/b"),
        cell([], [two["ben"]], 1, "midday", "a/b"),
    )
    step(two["world"], SOON)
    lines = Notice.objects.get().body.splitlines()[1:]
    assert [line.split(":")[0] for line in lines] == [
        "Sat 2 May, Midday round",
        "Sat 2 May, Evening round",
        "Sun 3 May, Morning round",
    ]
    assert lines[0].endswith("a/b (20 minutes)")


def test_it_is_of_no_use_a_day_later(two):
    note(two, cell([], [two["ben"]], 5))
    notice = Notice.objects.get()
    assert notice.expires_at - notice.due_at == timedelta(days=1)
    assert notice.due_at.date() == TODAY
