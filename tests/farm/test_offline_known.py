"""Who may send what from a phone: signed in, over a link, as a child, and long after it was shown."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pytest

from farm.models import Assignment, ChoreMark
from farm.models.member import Role
from farm.planning.agenda import Item
from farm.planning.window import Window
from farm.queries import agenda, heads
from farm.services import members, own_chores, rota, stays
from farm.services.actor import Actor
from farm.services.offline import Sent
from tests.conftest import NOON, TODAY, World
from tests.farm.offline_world import (
    FEED,
    HEAT,
    NOT_YOURS,
    OK,
    UNKNOWN,
    accept,
    died,
    due,
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


def test_a_member_who_became_a_child_sends_as_a_child(chicks, hal):
    thing = proven(hal, due(chicks, HEAT))
    member = members.change(
        chicks.by, member_id=hal.member.pk, expected_version=None, name="Hal", role=Role.CHILD
    )
    assert accept(replace(hal, member=member), thing)[0][0] == "refused"
