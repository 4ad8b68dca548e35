"""What phones send later: once, in order, at the time it was made, and only what its sender may say."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import timedelta
from io import BytesIO
from typing import Any
from uuid import uuid4

import pytest
from PIL import Image

from farm.errors import BadInput
from farm.models import Assignment, ChoreMark, CountEntry, HistoryEntry, MarkPhoto, SentKey
from farm.models.member import Role
from farm.planning.agenda import Item
from farm.planning.window import Window
from farm.queries import agenda, heads
from farm.services import chores, members, offline, own_chores, rota, shown, stays
from farm.services.actor import Actor
from farm.services.offline import Answer, Sent
from tests.conftest import NOON, TODAY, World

FEED, HEAT, LOOK = "feed_water", "heat_check", "look"
NOT_YOURS = "This is not one of your chores."
UNKNOWN = "This chore is not known. Open the page again."


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


def due(world: World, job: str = FEED, round: str = "morning", day: int = 0) -> Item:
    """Return an item of the agenda, by day from today."""
    on = TODAY + timedelta(days=day)
    (found,) = (
        item
        for item in agenda.for_farm(world.farm, Window(on, 1), TODAY)
        if (item.job, item.round, item.due) == (job, round, on)
    )
    return found


def sent(item: Item | None = None, kind: str = "tick", **more: Any) -> Sent:
    """Return one thing as a phone sends it, without proof."""
    known = {}
    if item is not None:
        source, day, round = item.occurrence
        known = {"source": source, "due": day, "round": round, "title": "as the phone says"}
    return Sent(key=str(uuid4()), kind=kind, **known | more)


def accept(by: Actor, *things: Sent, over_link: bool = False) -> list[tuple[str, str]]:
    assert by.member is not None
    answers = offline.accept(by, member=by.member, sent=things, over_link=over_link)
    assert [answer.key for answer in answers] == [one.key for one in things]
    return [(answer.status, answer.text) for answer in answers]


def picture() -> bytes:
    out = BytesIO()
    Image.new("RGB", (30, 20)).save(out, "PNG")
    return out.getvalue()


OK = ("done", "")


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


def died(world: World, birds: int = 3, **more: Any) -> Sent:
    batch = world.housing["Brooder 1"].stays.get().batch
    return sent(kind="died", batch_id=batch.pk, housing_id=world.housing["Brooder 1"].pk, birds=birds, **more)


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


def test_a_child_counts_no_deaths(chicks, kim):
    assert accept(kim, died(chicks))[0][0] == "refused"


def test_a_child_sends_only_what_a_child_may_do(chicks, kim):
    assert [status for status, _ in accept(kim, sent(due(chicks)), sent(due(chicks, HEAT)))] == [
        "done",
        "refused",
    ]
    shown_once = proven(kim, due(chicks, HEAT))
    assert accept(kim, shown_once)[0] == (
        "refused",
        "Only a helper (does and records) may do this. Ask one on your farm.",
    )
    assert [mark.title for mark in ChoreMark.objects.all()] == ["Brooder 1: Feed and water"]


def test_an_own_chore_of_adults_is_not_a_childs(chicks, kim):
    chore = own_chores.add(chicks.by, title="Burn the litter", start=TODAY, who="adult", minutes=5)
    thing = sent(source=f"own:{chore.pk}/own_chore", due=TODAY, round="morning", title="Burn the litter")
    assert accept(kim, thing)[0][0] == "refused"
    assert accept(chicks.by, thing) == [OK]
    assert ChoreMark.objects.get().minutes == 5


def proven(by: Actor, item: Item, **more: Any) -> Sent:
    """Return a tick of a line as it was shown to the member."""
    assert by.member is not None
    proof = shown.proof(by.member, item.occurrence, "Brooder 1: Feed, as it was called", 8)
    return sent(item, **{"title": "Brooder 1: Feed, as it was called", "minutes": 8, "proof": proof} | more)


def test_what_was_shown_is_taken_though_the_agenda_has_it_no_more(chicks, hal):
    thing = proven(hal, due(chicks))
    batch = chicks.housing["Brooder 1"].stays.get().batch
    move = {"from_id": chicks.housing["Brooder 1"].pk, "to_id": chicks.housing["Brooder 2"].pk}
    stays.move(chicks.by, batch_id=batch.pk, birds=40, day=TODAY, **move)
    assert agenda.find(chicks.farm, *due_key(thing), TODAY) is None
    for over_link in (False, True):
        assert accept(hal, replace(thing, key=str(uuid4())), over_link=over_link)[0][0] != "refused"
    mark = ChoreMark.objects.get()
    assert (mark.title, mark.minutes) == ("Brooder 1: Feed, as it was called", 8)


def due_key(thing: Sent) -> tuple[Any, ...]:
    return thing.source, thing.due, thing.round


@pytest.mark.parametrize(
    "more",
    [
        {"title": "Another title"},
        {"minutes": 600},
        {"due": TODAY + timedelta(days=1)},
        {"round": "evening"},
        {"source": "room:78/feed_water"},
        {"proof": "x" * 27},
        {"proof": ""},
        {"proof": "é"},
    ],
)
def test_a_proof_holds_for_nothing_but_what_was_shown(chicks, hal, more):
    gone = replace(due(chicks), source="room:77/feed_water")
    assert accept(hal, proven(hal, gone)) == [OK]
    assert accept(hal, proven(hal, gone, **more)) == [("refused", UNKNOWN)]


def test_a_proof_is_its_members_own(chicks, hal, kim):
    gone = replace(due(chicks), source="room:77/feed_water")
    stolen = replace(proven(hal, gone), key=str(uuid4()))
    assert accept(kim, stolen, over_link=True) == [("refused", NOT_YOURS)]
    assert accept(chicks.by, replace(stolen, key=str(uuid4()))) == [("refused", UNKNOWN)]


@pytest.mark.parametrize(
    "source", ["room:77/look", "own:1/own_chore", "batch:9/move", "", "' OR 1=1 --", "/" * 120]
)
@pytest.mark.parametrize("over_link", [False, True])
def test_a_guessed_chore_is_refused_and_named_nothing(chicks, hal, source, over_link):
    ((status, text),) = accept(
        hal, sent(source=source, due=TODAY, round="morning", title="Mine"), over_link=over_link
    )
    assert status == "refused"
    assert text in (NOT_YOURS, UNKNOWN)
    assert not ChoreMark.objects.exists()


def test_another_farms_chores_and_batches_are_refused_without_a_word_about_them(chicks, hal, elsewhere):
    elsewhere.add_housing("Far pen")
    batch = elsewhere.add_batch("Far birds", age=9, housing="Far pen")
    (theirs,) = (
        item
        for item in agenda.for_farm(elsewhere.farm, Window(TODAY, 1), TODAY)
        if (item.job, item.round) == (FEED, "morning")
    )
    things = [sent(theirs), sent(kind="died", batch_id=batch.pk, birds=1)]
    for over_link in (False, True):
        for status, text in accept(
            hal, *(replace(one, key=str(uuid4())) for one in things), over_link=over_link
        ):
            assert status == "refused"
            assert "Far" not in text
    assert not ChoreMark.objects.exists()
    assert heads.alive_on(batch, TODAY) == 40


def give(world: World, by: Actor, item: Item) -> None:
    """Give one occurrence to one member, as the rota does."""
    source, day, round = item.occurrence
    Assignment.objects.filter(farm=world.farm, source=source, due=day, round=round).delete()
    Assignment.objects.create(farm=world.farm, source=source, due=day, round=round, member=by.member, day=day)


@pytest.fixture
def shared(chicks: World, hal: Actor, kim: Actor) -> World:
    """With a rota: the morning's feeding is Hal's, the evening's Kim's."""
    rota.start(chicks.by)
    Assignment.objects.all().delete()
    give(chicks, hal, due(chicks))
    give(chicks, kim, due(chicks, round="evening"))
    return chicks


def test_over_a_link_a_member_ticks_their_own_chores_and_nobody_elses(shared, hal, kim):
    mine, theirs = sent(due(shared)), sent(due(shared, round="evening"))
    assert accept(hal, mine, theirs, over_link=True) == [OK, ("refused", NOT_YOURS)]
    assert ChoreMark.objects.get().round == "morning"


def test_signed_in_a_member_may_help_somebody_else_out(shared, hal):
    assert accept(hal, sent(due(shared, round="evening"))) == [OK]


def test_what_was_somebodys_weeks_ago_is_still_theirs_to_send(shared, hal, kim):
    row = {"source": "room:77/feed_water", "round": "morning", "due": TODAY - timedelta(days=20)}
    Assignment.objects.create(farm=shared.farm, member=hal.member, day=row["due"], minutes=6, **row)
    thing = sent(title="Old coop: feed", at=NOON - timedelta(days=20), **row)
    assert accept(kim, replace(thing, key="k"), over_link=True) == [("refused", NOT_YOURS)]
    assert accept(hal, thing, over_link=True) == [OK]
    mark = ChoreMark.objects.get()
    assert (mark.title, mark.minutes) == ("Old coop: feed", 6)


def test_over_a_link_nothing_is_left_out_and_nobody_dies(chicks, hal):
    for thing in (sent(due(chicks), "skip", note="no"), died(chicks)):
        ((status, text),) = accept(hal, thing, over_link=True)
        assert (status, text) == ("refused", "Sign in to do this; the link is for ticking alone.")
    assert not ChoreMark.objects.exists()


def test_over_a_link_one_opens_again_only_what_one_ticked(chicks, hal, kim):
    item = due(chicks)
    accept(hal, sent(item), over_link=True)
    ((status, text),) = accept(kim, sent(item, "untick"), over_link=True)
    assert (status, text) == (
        "refused",
        "Hal ticked this, so only somebody who is signed in can open it again.",
    )
    assert accept(hal, sent(item, "untick"), over_link=True) == [OK]
    assert not ChoreMark.objects.exists()


def test_a_note_of_a_child_over_its_link_is_added(chicks, kim):
    item = due(chicks)
    accept(chicks.by, sent(item))
    assert accept(kim, sent(item, "note", note="one hen limps"), over_link=True) == [OK]
    assert ChoreMark.objects.get().note == "one hen limps"


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


def test_the_agenda_is_not_worked_out_for_what_is_proven(chicks, hal, monkeypatch):
    thing = proven(hal, due(chicks))
    monkeypatch.setattr(agenda, "for_farm", lambda *_: pytest.fail("worked out"))
    assert accept(hal, thing) == [OK]


def test_the_agenda_is_worked_out_once_for_two_hundred_guesses(chicks, hal, monkeypatch):
    asked = []
    real = agenda.for_farm
    monkeypatch.setattr(agenda, "for_farm", lambda *args: asked.append(args) or real(*args))
    accept(hal, *(sent(source=f"room:{n}/look", due=TODAY, round="morning") for n in range(90, 120)))
    assert len(asked) == 2


def test_answers_are_forgotten_when_no_phone_can_ask_for_them_any_more(chicks, hal):
    accept(hal, sent(due(chicks)))
    assert offline.forget_old(now=NOON + timedelta(days=59)) == 0
    assert offline.forget_old(now=NOON + timedelta(days=61)) == 1
    assert ChoreMark.objects.count() == 1
    assert offline.KEPT > offline.OLDEST


def test_a_member_who_became_a_child_sends_as_a_child(chicks, hal):
    thing = proven(hal, due(chicks, HEAT))
    member = members.change(
        chicks.by, member_id=hal.member.pk, expected_version=None, name="Hal", role=Role.CHILD
    )
    assert accept(replace(hal, member=member), thing)[0][0] == "refused"


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
