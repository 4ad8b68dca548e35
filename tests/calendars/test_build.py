"""Building a farm's calendars: only what changed changes, twice is once, and every reader gets their own."""

import re
from datetime import time, timedelta

import pytest

from calendars import queries, services
from calendars.models import CalendarBody, EntryVersion
from farm.errors import NotFound
from farm.models import Batch, Farm
from farm.services import batches, chores, farms, members
from tests.calendars.cases import unfolded
from tests.calendars.conftest import App, subscribe
from tests.calendars.linter import problems
from tests.conftest import NOON, TODAY


def events(app: App, at=NOON):
    """Return the events of a calendar by UID."""
    text = app.get(at).content.decode().replace("\r\n ", "")
    found = re.findall(r"BEGIN:VEVENT\r\n.*?END:VEVENT\r\n", text, re.S)
    return {re.search(r"UID:(.*)\r\n", event)[1]: event for event in found}


def titles(app: App, at=NOON):
    return {re.search(r"SUMMARY:(.*)\r\n", event)[1] for event in events(app, at).values()}


def test_a_built_calendar_breaks_no_rule_and_holds_steps_and_rounds(app):
    assert problems(app.get().content) == []
    kinds = {uid.split(":")[0] for uid in events(app)}
    assert kinds == {"step", "round"}


def test_a_farm_without_birds_has_a_sound_calendar_that_says_so(world):
    body = subscribe(world.by).get().content
    assert problems(body) == []
    assert "Nothing is due in the coming months." in "".join(unfolded(body))


def test_the_same_content_is_the_same_bytes_hours_later(app):
    first = app.get()
    CalendarBody.objects.all().delete()
    later = app.get(NOON + timedelta(hours=9))
    assert later.content == first.content
    assert later["ETag"] == first["ETag"]


def test_a_new_day_moves_the_window_and_no_stamp(app):
    before, after = events(app), events(app, NOON + timedelta(days=1))
    assert before != after
    assert {uid: after[uid] for uid in before.keys() & after.keys()} == {
        uid: before[uid] for uid in before.keys() & after.keys()
    }


def test_one_tick_changes_one_event_and_the_tag(app, farm):
    before, tag = events(app), app.get()["ETag"]
    chores.mark(
        farm.by,
        source=f"room:{farm.housing['Brooder 1'].pk}/feed_water",
        due=TODAY,
        round="morning",
        title="Feed",
    )
    after = events(app, NOON + timedelta(minutes=1))
    changed = [uid for uid in after if after[uid] != before[uid]]
    assert [uid.split("@")[0] for uid in changed] == ["round:2026-05-01/morning/farm"]
    assert "[x] Brooder 1: Feed and water" in after[changed[0]]
    assert app.get(NOON + timedelta(minutes=1))["ETag"] != tag


def test_a_round_ticked_to_the_end_is_done_and_its_sequence_stays(app, farm):
    room, uid = (
        farm.housing["Brooder 1"].pk,
        next(u for u in events(app) if u.startswith("round:2026-05-01/evening/farm")),
    )
    for job in ("feed_water", "look", "heat_check"):
        chores.mark(farm.by, source=f"room:{room}/{job}", due=TODAY, round="evening", title=job)
    event = events(app, NOON + timedelta(minutes=1))[uid]
    assert "SUMMARY:✓ Evening round" in event
    assert "SEQUENCE:0" in event
    assert "LAST-MODIFIED:20260501T100100Z" in event


def test_a_farms_new_round_time_moves_its_rounds_with_a_new_sequence(app, farm):
    uid = next(uid for uid in events(app) if uid.startswith("round:2026-05-02/morning"))
    farms.change(farm.by, expected_version=None, morning_at=time(6, 15))
    event = events(app, NOON + timedelta(minutes=1))[uid]
    assert "DTSTART;TZID=Europe/Berlin:20260502T061500" in event
    assert "SEQUENCE:1" in event


def test_a_batch_taken_off_cancels_what_was_ahead(app, farm):
    ahead = next(uid for uid in events(app) if uid.startswith("round:2026-05-03/morning"))
    Farm.objects.filter(pk=farm.farm.pk).update(version=1000)
    Batch.objects.all().delete()
    found = events(app, NOON + timedelta(hours=1))
    assert "STATUS:CANCELLED" in found[ahead]
    assert "SUMMARY:Cancelled: Morning round" in found[ahead]
    assert not [uid for uid in found if uid.startswith("round:2026-04")]
    assert events(app, NOON + timedelta(days=15)) == {}


def test_refreshing_builds_what_is_used_and_out_of_date_and_the_second_time_nothing(app, farm):
    assert services.refresh(farm_id=farm.farm.pk, now=NOON) == 1
    rows = list(EntryVersion.objects.order_by("pk").values())
    assert services.refresh(farm_id=farm.farm.pk, now=NOON + timedelta(hours=1)) == 0
    assert list(EntryVersion.objects.order_by("pk").values()) == rows
    assert app.get().content == bytes(CalendarBody.objects.get().octets)


def test_refreshing_a_farm_that_is_gone_says_so(db):
    with pytest.raises(NotFound):
        services.refresh(farm_id=404, now=NOON)


def test_two_links_of_one_reader_share_one_edition(app, farm):
    other = subscribe(farm.by)
    assert other.get().content == app.get().content
    assert CalendarBody.objects.count() == 1


def test_what_no_link_shows_any_more_is_removed_at_the_next_refresh(app, farm):
    app.get()
    services.revoke_link(farm.by, link_id=app.link.pk)
    services.refresh(farm_id=farm.farm.pk, now=NOON + timedelta(minutes=1))
    assert (CalendarBody.objects.count(), EntryVersion.objects.count()) == (0, 0)


def test_a_helpers_calendar_leaves_adults_work_out_and_says_so(farm):
    app = subscribe(farm.add_member("Ben", "helper"), scope="mine")
    text = app.get().content.decode().replace("\r\n ", "")
    assert "Feed and water" in text
    assert "Check the heat" not in text
    assert "Work for adults only" in text


def test_a_childs_calendar_holds_what_a_child_may_help_with(farm):
    app = subscribe(farm.add_member("Kim", "child"), scope="mine")
    text = app.get().content.decode().replace("\r\n ", "")
    assert "Feed and water" in text
    assert not re.search("Check the heat|Look at the birds", text)
    assert "beside an adult" in text


def test_a_helper_made_a_child_loses_the_whole_farm_at_once(farm):
    helper = farm.add_member("Ben", "helper")
    app = subscribe(helper)
    assert "Check the heat" in app.get().content.decode().replace("\r\n ", "")
    members.change(farm.by, member_id=helper.member.pk, expected_version=None, name="Ben", role="child")
    assert "Check the heat" not in app.get().content.decode().replace("\r\n ", "")


def test_nothing_of_another_farm_is_in_a_calendar(app, elsewhere):
    elsewhere.add_housing("Far Brooder")
    elsewhere.add_batch("Far Batch", housing="Far Brooder")
    theirs = subscribe(elsewhere.by)
    assert b"Far Brooder" in theirs.get().content
    assert not re.search(b"Far (Farm|Brooder|Batch)", app.get().content)
    assert events(app).keys().isdisjoint(events(theirs))


def test_a_calendar_too_large_for_readers_is_cut_and_says_from_when_to_when(farm):
    for number in range(9):
        farm.add_housing(f"House {number} " + "🐣" * 20)
        for age in range(4):
            farm.add_batch(
                f"Batch {number}.{age} " + "é" * 40, age=age, housing=f"House {number} " + "🐣" * 20, birds=5
            )
    text = (body := subscribe(farm.by).get().content).decode().replace("\r\n ", "")
    assert problems(body) == []
    assert re.search(
        r"DESCRIPTION:.*Shortened to what calendar apps accept: \d+ of \d+ entries\\,"
        r" from \d+ [A-Z][a-z]+ to \d+ [A-Z]",
        text,
    )


def test_two_builders_make_one_body_and_one_set_of_versions(app):
    edition = queries.live_editions(app.link.farm_id, NOON)[0]
    first = services.build(edition, NOON)
    again = services.build(edition, NOON + timedelta(seconds=5))
    assert (again.pk, again.etag, again.built_at) == (first.pk, first.etag, first.built_at)


def test_a_batch_is_renamed_in_all_its_events(app, farm):
    batch = Batch.objects.get()
    batches.change(farm.by, batch_id=batch.pk, expected_version=None, name="Early ones")
    assert any("Early ones" in event for event in events(app, NOON + timedelta(minutes=1)).values())
