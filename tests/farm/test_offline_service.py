"""What phones send later: once, in order, at the time it was made, and only what its sender may say."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from io import BytesIO

import pytest
from PIL import Image

from farm.errors import BadInput
from farm.models import ChoreMark, CountEntry, HistoryEntry, MarkPhoto, SentKey
from farm.models.member import Role
from farm.queries import heads
from farm.services import chores, offline
from farm.services.actor import Actor
from farm.services.offline import Answer
from tests.conftest import NOON, TODAY, World
from tests.farm.offline_world import (
    FEED,
    HEAT,
    LOOK,
    OK,
    UNKNOWN,
    accept,
    died,
    due,
    picture,
    proven,
    sent,
)


@pytest.fixture
def chicks(world: World) -> World:
    """Nine-day-old chicks in Brooder 1."""
    world.add_batch("Spring", age=9, housing="Brooder 1")
    return world


@pytest.fixture
def hal(chicks: World) -> Actor:
    return chicks.add_member("Hal", Role.HELPER)


@pytest.fixture
def kim(chicks: World) -> Actor:
    return chicks.add_member("Kim", Role.CHILD)


def test_a_tick_is_a_mark_with_the_plans_title_minutes_and_the_phones_time(chicks, hal):
    item, at = due(chicks), NOON - timedelta(hours=3)
    assert accept(hal, sent(item, at=at)) == [OK]
    mark = ChoreMark.objects.get()
    assert (mark.title, mark.minutes, mark.member, mark.at) == (
        "Brooder 1: Feed and water",
        item.minutes,
        hal.member,
        at,
    )
    assert item.minutes > 0


def test_what_is_sent_again_is_answered_the_same_and_changes_nothing(chicks, hal):
    things = [
        sent(due(chicks)),
        sent(due(chicks), "untick"),
        sent(due(chicks), note="dry"),
        sent(kind="nonsense"),
    ]
    first = accept(hal, *things)
    before = (HistoryEntry.objects.count(), ChoreMark.objects.get().pk)
    assert accept(hal, *things) == first
    assert accept(hal, *reversed(things)) == first[::-1]
    assert (HistoryEntry.objects.count(), ChoreMark.objects.get().pk) == before
    assert SentKey.objects.count() == len(things)


def test_a_refusal_sent_again_stays_a_refusal_though_it_would_go_now(chicks, hal):
    thing = sent(due(chicks), "note", note="wet")
    refused = accept(hal, thing)
    assert refused == [("refused", "It is open again. Tick it together with your note.")]
    chores.mark(chicks.by, source=thing.source, due=TODAY, round="morning", title="x")
    assert accept(hal, thing) == refused


def test_things_are_done_in_the_order_they_were_sent(chicks, hal):
    item = due(chicks)
    assert accept(hal, sent(item), sent(item, "untick"), sent(item, "skip", note="no feed left")) == [OK] * 3
    mark = ChoreMark.objects.get()
    assert (mark.state, mark.note) == ("skipped", "no feed left")


def test_one_that_is_refused_stops_no_other(chicks, hal):
    wrong = sent(due(chicks), at=NOON + timedelta(days=2))
    assert [status for status, _ in accept(hal, sent(due(chicks)), wrong, sent(due(chicks, LOOK)))] == [
        "done",
        "refused",
        "done",
    ]
    assert ChoreMark.objects.count() == 2


def test_who_was_quicker_is_said_with_the_time_on_the_farm(chicks, hal):
    early = replace(chicks.by, now=NOON - timedelta(hours=4, minutes=20))
    item = due(chicks)
    source, day, round = item.occurrence
    chores.mark(early, source=source, due=day, round=round, title="Feed")
    assert accept(hal, sent(item)) == [("already", "Ada ticked this at 07:40.")]
    assert accept(hal, sent(item, note="bin low")) == [
        ("already", "Ada ticked this at 07:40; your note was kept.")
    ]
    mark = ChoreMark.objects.get()
    assert (mark.member, mark.note, mark.at) == (chicks.keeper, "bin low", early.now)


def test_one_that_was_left_out_or_ticked_by_oneself_is_said_so(chicks, hal):
    item = due(chicks)
    accept(chicks.by, sent(item, "skip", note="ill"))
    assert accept(hal, sent(item)) == [("already", "Ada left this out at 12:00.")]
    assert accept(chicks.by, sent(item)) == [("already", "You left this out at 12:00.")]


def test_a_tick_of_another_day_names_the_day(chicks, hal):
    item = due(chicks, day=-1)
    accept(replace(chicks.by, now=NOON - timedelta(days=1)), sent(item))
    assert accept(hal, sent(item))[0][1] == "Ada ticked this at 30 Apr 2026, 12:00."


def test_an_untick_from_before_somebody_ticked_leaves_their_tick(chicks, hal):
    item = due(chicks)
    accept(hal, sent(item, at=NOON - timedelta(hours=5)))
    chores.unmark(chicks.by, source=item.source, due=TODAY, round="morning")
    accept(chicks.by, sent(item, at=NOON - timedelta(hours=1)))
    late = sent(item, "untick", at=NOON - timedelta(hours=2))
    assert accept(hal, late) == [("already", "Ada has done it since, so it stays ticked.")]
    assert ChoreMark.objects.get().member == chicks.keeper


def test_an_untick_of_what_is_open_is_no_mistake(chicks, hal):
    assert accept(hal, sent(due(chicks), "untick")) == [OK]


@pytest.mark.parametrize(
    "ahead, status",
    [
        (timedelta(minutes=5), "done"),
        (timedelta(minutes=5, seconds=1), "refused"),
        (-timedelta(days=30), "done"),
        (-timedelta(days=30, seconds=1), "refused"),
    ],
)
def test_a_phones_clock_may_be_five_minutes_ahead_and_thirty_days_behind(chicks, hal, ahead, status):
    item = replace(due(chicks), due=TODAY + timedelta(days=ahead.days))
    ((found, text),) = accept(hal, proven(hal, item, at=NOON + ahead))
    assert found == status
    assert bool(text) == (status == "refused")
    assert all(mark.at <= NOON for mark in ChoreMark.objects.all())


def test_a_clock_that_is_ahead_is_named(chicks, hal):
    assert (
        "The clock of your phone is ahead."
        in accept(hal, sent(due(chicks), at=NOON + timedelta(hours=1)))[0][1]
    )


def test_without_a_time_it_is_now(chicks, hal):
    accept(hal, sent(due(chicks)))
    assert ChoreMark.objects.get().at == NOON


def test_a_chore_far_ahead_of_its_day_is_refused_by_the_day_it_was_ticked(chicks, hal):
    item = due(chicks, day=7)
    assert accept(hal, sent(item))[0][0] == "done"
    early = sent(due(chicks, day=6), at=NOON - timedelta(days=4))
    assert accept(hal, early) == [("refused", "This is not due for a while; tick it when it is done.")]


def test_deaths_are_counted_once_on_the_day_they_were_seen(chicks, hal):
    thing = died(chicks, at=NOON - timedelta(days=1), note="cold corner")
    assert accept(hal, thing) == accept(hal, thing) == [OK]
    entry = CountEntry.objects.get(kind="died")
    assert (entry.birds, entry.day, entry.note) == (-3, TODAY - timedelta(days=1), "cold corner")
    assert heads.alive_on(entry.batch, TODAY) == 37


@pytest.mark.parametrize("birds", [0, 41, 5001])
def test_deaths_that_cannot_be_are_refused_with_the_reason(chicks, hal, birds):
    ((status, text),) = accept(hal, died(chicks, birds))
    assert status == "refused"
    assert text
    assert not CountEntry.objects.filter(kind="died").exists()


@pytest.mark.parametrize("kind, says", [("skip", "Write why"), ("note", "Write the note")])
def test_a_reason_and_a_note_are_words(chicks, hal, kind, says):
    accept(chicks.by, sent(due(chicks)))
    assert says in accept(hal, sent(due(chicks), kind, note="  "))[0][1]


def test_a_picture_comes_with_its_tick(chicks, hal):
    assert accept(hal, sent(due(chicks), photo=picture())) == [OK]
    photo = MarkPhoto.objects.get()
    assert photo.mark == ChoreMark.objects.get()
    assert Image.open(BytesIO(bytes(photo.jpeg))).format == "JPEG"


def test_a_picture_that_cannot_be_read_costs_nobody_their_tick(chicks, hal):
    ((status, text),) = accept(hal, sent(due(chicks), photo=b"no picture"))
    assert (status, text[:20]) == ("done", "Without its picture:")
    assert ChoreMark.objects.count() == 1
    assert not MarkPhoto.objects.exists()


def test_a_second_picture_is_said_to_be_one_too_many(chicks, hal):
    accept(chicks.by, sent(due(chicks), photo=picture()))
    assert accept(hal, sent(due(chicks), photo=picture())) == [
        ("already", "Ada ticked this at 12:00. It has a picture already, which stays.")
    ]


@pytest.mark.parametrize("key", ["", "k" * 65])
def test_a_key_is_up_to_64_characters(chicks, hal, key):
    (answer,) = offline.accept(hal, member=hal.member, sent=[replace(sent(due(chicks)), key=key)])
    assert answer == Answer(key[:64], "refused", "This could not be read. Tick it again.")
    assert not SentKey.objects.exists()


def test_a_key_of_64_characters_is_taken(chicks, hal):
    assert accept(hal, replace(sent(due(chicks)), key="k" * 64)) == [OK]


def test_nobody_takes_the_key_of_somebody_elses_phone(chicks, hal, kim):
    first, second = sent(due(chicks)), sent(due(chicks, round="evening"))
    assert accept(kim, replace(first, key="same")) == [OK]
    assert accept(hal, replace(second, key="same")) == [OK]
    assert ChoreMark.objects.count() == 2


def test_no_more_than_two_hundred_at_once(chicks, hal):
    with pytest.raises(BadInput, match="at most 200"):
        offline.accept(hal, member=hal.member, sent=[sent()] * 201)


@pytest.mark.parametrize("kind", ["", "delete", "TICK", "died; DROP TABLE"])
def test_an_unknown_kind_is_refused(chicks, hal, kind):
    assert accept(hal, sent(due(chicks), kind))[0][0] == "refused"


def test_an_unknown_round_is_refused(chicks, hal):
    assert accept(hal, sent(due(chicks), round="night")) == [("refused", UNKNOWN)]


def test_a_long_note_is_cut_and_not_refused(chicks, hal):
    assert accept(hal, sent(due(chicks), note="n" * 900)) == [OK]
    assert len(ChoreMark.objects.get().note) == 500


def test_answers_are_forgotten_when_no_phone_can_ask_for_them_any_more(chicks, hal):
    accept(hal, sent(due(chicks)))
    assert offline.forget_old(now=NOON + timedelta(days=59)) == 0
    assert offline.forget_old(now=NOON + timedelta(days=61)) == 1
    assert ChoreMark.objects.count() == 1
    assert offline.KEPT > offline.OLDEST


@pytest.mark.parametrize("seed", range(4))
def test_a_queue_sent_in_pieces_and_partly_again_ends_as_if_sent_once(chicks, hal, seed):
    choose = random.Random(seed)
    items = [due(chicks, FEED), due(chicks, LOOK), due(chicks, HEAT)]
    queue = [
        sent(
            choose.choice(items), choose.choice(["tick", "untick", "skip", "note"]), note=choose.choice("abc")
        )
        for _ in range(12)
    ]
    once = accept(hal, *queue)
    state = standing()
    SentKey.objects.all().delete()
    ChoreMark.objects.all().delete()
    heard: dict[str, tuple[str, str]] = {}
    at = 0
    while at < len(queue):  # each time from somewhere the phone has sent already, as when answers were lost
        start, end = choose.randint(0, at), min(len(queue), at + choose.randint(1, 5))
        piece = queue[start:end]
        heard |= dict(zip([one.key for one in piece], accept(hal, *piece), strict=True))
        at = end
    assert standing() == state
    assert [heard[one.key] for one in queue] == once


def standing() -> set[tuple[str, str, str]]:
    return set(ChoreMark.objects.values_list("source", "state", "note"))
