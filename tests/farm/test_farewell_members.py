"""A member who left is forgotten: the name is nowhere, what they did is still there."""

from __future__ import annotations

from datetime import timedelta

import pytest

from calendars import editions
from calendars import services as calendars
from calendars.dav import passwords
from calendars.models import AppPassword, CalendarLink, OuterCalendar
from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import (
    Assignment,
    Away,
    Change,
    Channel,
    ChoreMark,
    CountEntry,
    HistoryEntry,
    Invitation,
    MarkPhoto,
    Member,
    Notice,
    PersonalLink,
    Pin,
)
from farm.services import aways, chores, counts, history, members, personal_links
from farm.services.channels import sealing
from farm.services.farewell import members as farewell
from farm.services.farewell.rows import of_a_farm
from farm.services.farewell.told import TOLD, UNTOLD, texts_of
from farm.web.history import lines
from tests.conftest import NOON, TODAY, World
from tests.farm.farewell_world import saying, whole

NAME = "Halvard"


@pytest.fixture
def hal(world: World) -> Member:
    """A helper with everything that can be theirs, who has done this and that and left."""
    by = world.add_member("Hally", "helper")
    member = by.member
    assert member is not None
    members.change(world.by, member_id=member.pk, expected_version=None, name=NAME, role="helper", share=50)
    batch = world.add_batch("Browns", housing="Brooder 1")
    counts.add(by, batch_id=batch.pk, kind="died", birds=1, day=TODAY, note=f"{NAME} found it")
    chores.mark(by, source="room:1/look", due=TODAY, round="morning", title="Look", note=f"{NAME}: all well")
    MarkPhoto.objects.create(farm=world.farm, mark=ChoreMark.objects.get(), jpeg=b"jpeg", at=NOON)
    personal_links.make(world.by, member_id=member.pk, label="Hallys phone")
    calendars.make_link(world.by, member_id=member.pk, label="Hallys laptop")
    passwords.make(world.by, member_id=member.pk, label="Hallys tablet")
    days = {"start": TODAY + timedelta(days=9), "end": TODAY + timedelta(days=12)}
    aways.add(world.by, member_id=member.pk, note="knee surgery", **days)
    Channel.objects.create(
        farm=world.farm, member=member, kind="email", label="hal@example.net", address=sealing.seal("x")
    )
    times = {"made_at": NOON, "due_at": NOON, "expires_at": NOON}
    text = {"subject": "A swap", "body": f"{NAME} asks you to swap a round", "url": "/my/"}
    for reader in (member, world.keeper):
        Notice.objects.create(farm=world.farm, member=reader, kind="swap", key="1", **text, **times)
    OuterCalendar.objects.create(
        farm=world.farm, member=member, label="School", address="sealed", host="x", next_at=NOON
    )
    chore = {"source": "room:1/look", "due": TODAY, "round": "evening"}
    Assignment.objects.create(farm=world.farm, member=member, day=TODAY - timedelta(days=1), **chore)
    Pin.objects.create(farm=world.farm, member=member, **chore)
    calendars.build(editions.Edition(world.farm, None, "en"), NOON)
    members.leave(world.by, member_id=member.pk)
    member.refresh_from_db()
    return member


def test_the_name_and_every_earlier_one_is_nowhere(world: World, hal: Member):
    assert {
        "farm_member.name",
        "farm_countentry.note",
        "farm_choremark.note",
        "farm_notice.body",
        "farm_historyentry.summary",
        "farm_change.after",
        "farm_change.before",
    } <= set(saying(NAME))
    assert saying("Hallys")

    assert farewell.forget(world.by, member_id=hal.pk) == "Former member 1"

    # What stays is the e-mail address of the login, which is not the farm's to forget.
    assert saying(NAME) == []
    assert saying("Hallys", "knee surgery", "hal@example.net") == []
    assert set(saying("Hally")) <= {"farm_login.email"}
    calendars.build(editions.Edition(world.farm, None, "en"), NOON + timedelta(hours=1))
    assert saying(NAME) == []


def test_what_was_theirs_is_gone(world: World, hal: Member):
    farewell.forget(world.by, member_id=hal.pk)

    for model in (PersonalLink, Channel, Away, Invitation, CalendarLink, AppPassword, OuterCalendar):
        assert not model._default_manager.filter(member_id=hal.pk).exists(), model
    assert not MarkPhoto.objects.exists()
    assert not Assignment.objects.exists()
    assert not Pin.objects.exists()
    assert [notice.member_id for notice in Notice.objects.all()] == [world.keeper.pk]


def test_what_they_did_stays_under_the_number(world: World, hal: Member):
    farewell.forget(world.by, member_id=hal.pk)

    died = CountEntry.objects.get(kind="died")
    assert (died.member_id, str(died.member), died.note) == (
        hal.pk,
        "Former member 1",
        "Former member 1 found it",
    )
    assert ChoreMark.objects.get().note == "Former member 1: all well"
    assert ChoreMark.objects.get().member_id == hal.pk
    assert Notice.objects.get().body == "Former member 1 asks you to swap a round"
    assert HistoryEntry.objects.filter(member=hal, login__isnull=False).count() == 0


def test_nothing_of_the_person_is_left_in_their_own_row(world: World, hal: Member):
    members_row = Member.objects.get(pk=hal.pk)
    assert members_row.share == 50

    farewell.forget(world.by, member_id=hal.pk)

    hal.refresh_from_db()
    assert (hal.role, hal.adult, hal.can_lift, hal.share, hal.login_id) == ("helper", False, False, 100, None)
    assert hal.left_on == TODAY


def test_names_that_merely_begin_alike_and_names_of_things_stay(world: World, hal: Member):
    world.add_housing(f"{NAME}s pen")
    batch = world.add_batch(NAME, housing=f"{NAME}s pen")
    hanne = members.add(world.by, name=f"{NAME} Smith", role="helper")
    chores.mark(
        world.by, source="room:1/see", due=TODAY, round="midday", title="See", note=f"{NAME} Smith did it"
    )

    farewell.forget(world.by, member_id=hal.pk)

    hanne.refresh_from_db()
    batch.refresh_from_db()
    assert (hanne.name, batch.name) == (f"{NAME} Smith", NAME)
    assert ChoreMark.objects.get(source="room:1/see").note == f"{NAME} Smith did it"


def test_it_cannot_be_undone_nor_can_what_was_theirs_come_back(world: World, hal: Member):
    farewell.forget(world.by, member_id=hal.pk)
    before = whole(world.farm.pk)

    about = HistoryEntry.objects.filter(changes__after__forgotten=True).distinct()
    assert len(about) > 3
    for entry in about:
        assert not history.can_undo(entry)
        with pytest.raises(BadInput):
            history.undo(world.by, entry_id=entry.pk)

    assert whole(world.farm.pk) == before


def test_the_history_page_can_still_say_every_line(world: World, hal: Member):
    farewell.forget(world.by, member_id=hal.pk)
    entries = HistoryEntry.objects.filter(farm=world.farm).prefetch_related("changes")

    said = [line.entry.summary for line in lines.lines(world.farm, entries)]

    assert "Former member 1 was forgotten" in said
    assert "Personal link “…” made for Former member 1" in said


def test_numbers_go_on_and_nobody_is_forgotten_twice(world: World, hal: Member):
    gil = members.add(world.by, name="Gil", role="child")
    members.leave(world.by, member_id=gil.pk)
    farewell.forget(world.by, member_id=hal.pk)

    assert farewell.left(world.farm.pk) == [gil]
    assert farewell.forget(world.by, member_id=gil.pk) == "Former member 2"
    assert farewell.left(world.farm.pk) == []
    with pytest.raises(BadInput):
        farewell.forget(world.by, member_id=gil.pk)


def test_who_is_on_the_farm_cannot_be_forgotten(world: World):
    gil = members.add(world.by, name="Gil", role="child")
    before = whole(world.farm.pk)
    with pytest.raises(BadInput):
        farewell.forget(world.by, member_id=gil.pk)
    assert whole(world.farm.pk) == before


def test_only_a_keeper_forgets_and_only_on_their_own_farm(world: World, elsewhere: World, hal: Member):
    cara = world.add_member("Cara", "helper")
    before = whole(world.farm.pk)
    with pytest.raises(NotAllowed):
        farewell.forget(cara, member_id=hal.pk)
    with pytest.raises(NotFound):
        farewell.forget(elsewhere.by, member_id=hal.pk)
    assert whole(world.farm.pk) == before


def test_another_farms_words_are_not_touched(world: World, elsewhere: World, hal: Member):
    members.add(elsewhere.by, name=NAME, role="helper")
    before = whole(elsewhere.farm.pk)
    farewell.forget(world.by, member_id=hal.pk)
    assert whole(elsewhere.farm.pk) == before


def test_every_text_column_of_a_farm_is_looked_through_or_says_why_not():
    known = TOLD | {word for words in UNTOLD for word in words.split()}
    new = {
        f"{model.__name__}.{column}"
        for model in of_a_farm()
        for column in texts_of(model)
        if column not in known
    }
    assert new == set()
    assert not TOLD & {word for words in UNTOLD for word in words.split()}


def test_changes_hold_only_that_there_was_such_a_row(world: World, hal: Member):
    farewell.forget(world.by, member_id=hal.pk)
    links = Change.objects.filter(model="personallink")
    assert {tuple(sorted(change.after)) for change in links} == {("forgotten", "id", "member_id")}
