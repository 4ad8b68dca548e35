"""Calendars with a rota: each holds what its member is given, and a round given away moves between them."""

import re
from datetime import timedelta

import pytest

from calendars.models import EntryVersion
from farm.models import Assignment, Stay
from farm.services import rota, stays
from tests.calendars.conftest import subscribe
from tests.calendars.test_build import events
from tests.conftest import NOON, TODAY
from tests.farm.judging import day
from tests.farm.rota_world import begin, key, people

SOON = NOON + timedelta(hours=1)


@pytest.fixture
def family(farm):
    found = people(farm)
    begin(farm)
    return found


@pytest.fixture
def given(farm, family):
    """Tomorrow's feeding in the evening, done by Ada."""
    occurrence = key(farm, "feed_water", 1, "evening")
    rota.give(farm.by, occurrences=[occurrence], member_id=family["Ada"].member.pk)
    return occurrence


def rounds(app, at=NOON, name="evening"):
    """Return the events of one round in a calendar."""
    return [
        text for uid, text in events(app, at).items() if uid.startswith(f"round:{day(1).isoformat()}/{name}/")
    ]


def feeding(app, at=NOON):
    return [text for text in rounds(app, at) if "Feed and water" in text.replace("\r\n ", "")]


def test_a_members_calendar_holds_what_they_are_given_and_no_more(farm, family, given):
    ada, ben = subscribe(farm.by, scope="mine"), subscribe(family["Ben"], scope="mine")
    assert len(feeding(ada)) == 1
    assert feeding(ben) == []


def test_every_chore_of_the_rota_is_in_the_calendar_of_whoever_has_it(farm, family):
    for actor in family.values():
        shown = {
            tuple(uid.removeprefix("round:").split("/")[:2])
            for uid in events(subscribe(actor, scope="mine"))
            if uid.startswith("round:")
        }
        given = Assignment.objects.filter(member=actor.member, source__startswith="room:")
        assert shown == {(row.day.isoformat(), row.round) for row in given}
        assert shown, f"{actor.member} has nothing to do"


def test_a_round_given_away_leaves_one_calendar_as_cancelled_and_comes_into_the_other(farm, family, given):
    ada, ben = subscribe(farm.by, scope="mine"), subscribe(family["Ben"], scope="mine")
    first = rounds(ada)[0]
    assert "SEQUENCE:0" in first
    mine = [
        row.occurrence for row in Assignment.objects.filter(member=farm.keeper, day=day(1), round="evening")
    ]
    rota.give(farm.by, occurrences=mine, member_id=family["Ben"].member.pk)
    (gone,) = rounds(ada, SOON)
    assert "STATUS:CANCELLED" in gone
    assert "SEQUENCE:1" in gone
    assert "SUMMARY:Not yours any more: Evening round" in gone.replace("\r\n ", "")
    assert "Somebody else does this now." in gone.replace("\r\n ", "")
    (come,) = rounds(ben, SOON)
    assert "STATUS:CONFIRMED" in come


def test_a_round_that_comes_back_is_no_longer_cancelled_and_its_sequence_rises_again(farm, family, given):
    app = subscribe(farm.by, scope="mine")
    rounds(app)
    mine = [
        row.occurrence for row in Assignment.objects.filter(member=farm.keeper, day=day(1), round="evening")
    ]
    rota.give(farm.by, occurrences=mine, member_id=family["Ben"].member.pk)
    rounds(app, SOON)
    rota.give(farm.by, occurrences=mine, member_id=farm.keeper.pk)
    (back,) = rounds(app, SOON + timedelta(hours=1))
    assert "STATUS:CONFIRMED" in back
    assert "SEQUENCE:2" in back


def test_what_is_no_longer_planned_at_all_is_cancelled_not_given_away(farm, family, given):
    app = subscribe(farm.by, scope="mine")
    rounds(app)
    for stay in Stay.objects.filter(farm=farm.farm):
        stays.remove(farm.by, stay_id=stay.pk)
    rota.refresh(farm_id=farm.farm.pk, now=SOON)
    (gone,) = rounds(app, SOON)
    assert "SUMMARY:Cancelled: Evening round" in gone.replace("\r\n ", "")


def test_the_whole_farms_calendar_names_who_does_each_chore(farm, family, given):
    app = subscribe(farm.by, scope="farm")
    (evening,) = rounds(app)
    assert "Feed and water\\, 8 min · Ada" in evening.replace("\r\n ", "")


def test_beyond_the_weeks_given_out_a_members_calendar_has_steps_but_no_rounds(farm, family):
    found = events(subscribe(farm.by, scope="mine"), NOON)
    late = (TODAY + timedelta(days=7)).isoformat()
    assert not [uid for uid in found if uid.startswith("round:") and uid[6:16] >= late]
    steps = [text for uid, text in found.items() if uid.startswith("step:")]
    assert [text for text in steps if "DTSTART;VALUE=DATE:202606" in text]


def test_the_description_says_how_far_rounds_are_given_out(farm, family):
    text = subscribe(farm.by, scope="mine").get().content.decode().replace("\r\n ", "")
    assert re.search(r"Rounds are given out until [^.]*7[^.]*later ones come as they are given out", text)


def test_asking_again_changes_no_stamp(farm, family):
    app = subscribe(farm.by, scope="mine")
    before = app.get().content
    rows = list(EntryVersion.objects.order_by("pk").values())
    rota.refresh(farm_id=farm.farm.pk, now=SOON)
    assert app.get(SOON).content == before
    assert list(EntryVersion.objects.order_by("pk").values()) == rows
