"""How a link's calendar is written: alarms, rounds as one line a day, days, and the zone of its times."""

import re
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction

from calendars import editions, services
from calendars.editions import USUAL, Options
from calendars.models import CalendarBody, CalendarLink, EntryVersion
from farm.errors import BadInput
from farm.services import chores
from tests.calendars.conftest import subscribe
from tests.calendars.linter import problems
from tests.calendars.test_build import events
from tests.conftest import NOON, TODAY


def written(world, scope="farm", **options):
    app = subscribe(world.by, scope=scope, options=Options(**options))
    assert problems(app.get().content) == []
    return events(app)


def instants(found):
    """Return the start of each timed event as an instant, read without our code."""
    return {
        uid: match[1] for uid, text in found.items() if (match := re.search(r"DTSTART;TZID=(\S+)\r\n", text))
    }


def test_without_being_asked_for_there_are_no_alarms(farm):
    assert not [text for text in written(farm).values() if "VALARM" in text]


def test_an_alarm_is_shown_only_and_so_many_minutes_before(farm):
    found = written(farm, alarm_minutes=45)
    rounds = [text for uid, text in found.items() if uid.startswith("round:")]
    assert rounds
    for text in rounds:
        alarm = text[text.index("BEGIN:VALARM") : text.index("END:VALARM")]
        assert "ACTION:DISPLAY" in alarm
        assert "TRIGGER:-PT45M" in alarm
        assert "DESCRIPTION:" in alarm
    assert not re.search("ACTION:(AUDIO|EMAIL)", "".join(found.values()))


def test_what_has_no_time_rings_before_the_morning_round_and_not_before_midnight(farm):
    farm.farm.refresh_from_db()
    seven = farm.farm.morning_at
    lead = timedelta(hours=seven.hour, minutes=seven.minute) - timedelta(minutes=45)
    hours, minutes = divmod(int(lead.total_seconds()) // 60, 60)
    steps = [text for uid, text in written(farm, alarm_minutes=45).items() if uid.startswith("step:")]
    assert steps
    assert all(f"TRIGGER:PT{hours}H{minutes}M\r\n" in text for text in steps)


def test_at_the_minute_itself_is_an_alarm_too(farm):
    assert any("TRIGGER:" in text for text in written(farm, alarm_minutes=0).values())


def test_what_is_done_rings_no_more(farm):
    room = farm.housing["Brooder 1"].pk
    for job in ("feed_water", "look", "heat_check"):
        chores.mark(farm.by, source=f"room:{room}/{job}", due=TODAY, round="evening", title=job)
    found = written(farm, alarm_minutes=10)
    done = [text for text in found.values() if "SUMMARY:✓" in text]
    assert done
    assert not [text for text in done if "VALARM" in text]


def test_the_rounds_of_a_day_as_one_line_without_a_time(farm):
    found = written(farm, rounds="daily")
    (today,) = (text for uid, text in found.items() if uid.startswith(f"rounds:{TODAY.isoformat()}/farm"))
    assert not [uid for uid in found if uid.startswith("round:")]
    assert "DTSTART;VALUE=DATE:20260501" in today
    assert re.search(r"SUMMARY:2 rounds · \d+ chores · \d+ min", today)
    assert re.search(r"DESCRIPTION:Morning round:\\n\[ \].*Evening round:\\n\[ \]", today)


def test_one_line_a_day_holds_every_chore_the_rounds_do(farm):
    def chores_of(found):
        return sorted(re.findall(r"\[ \] [^\\]+", "".join(found.values())))

    assert chores_of(written(farm, rounds="daily")) == chores_of(written(farm))


def test_days_back_and_ahead_bound_the_calendar(farm):
    days = {
        match[1]
        for text in written(farm, back_days=2, ahead_days=10).values()
        for match in [re.search(r"DTSTART[^:]*:(\d{8})", text)]
    }
    assert min(days) == "20260429"
    assert max(days) == "20260510"


def test_another_zone_changes_how_timed_entries_are_written_and_nothing_else(farm):
    here, there = written(farm), written(farm, zone="America/New_York")
    assert here.keys() == there.keys()
    differing = {uid for uid in here if here[uid] != there[uid]}
    assert differing == {uid for uid in here if uid.startswith("round:")}
    uid = next(uid for uid in here if uid.startswith("round:2026-05-02/morning"))
    assert "DTSTART;TZID=Europe/Berlin:20260502T070000" in here[uid]
    assert "DTSTART;TZID=America/New_York:20260502T010000" in there[uid]


def test_another_zone_brings_its_own_rules_and_not_the_farms(farm):
    app = subscribe(farm.by, options=Options(zone="Australia/Sydney"))
    text = app.get().content.decode()
    assert re.findall(r"TZID:(\S+)", text) == ["Australia/Sydney"]
    assert "RRULE:FREQ=YEARLY;BYMONTH=10;BYDAY=1SU" in text


def test_a_round_that_falls_on_another_day_elsewhere_keeps_its_stamp(farm):
    """On the farm's first day of the window a morning round is the day before in the west."""
    app = subscribe(farm.by, options=Options(zone="Pacific/Honolulu", back_days=0))
    before = events(app)
    CalendarBody.objects.all().delete()
    after = events(app, NOON + timedelta(hours=2))
    assert after == before
    uid = f"round:{TODAY.isoformat()}/morning/farm"
    assert [row.day for row in EntryVersion.objects.filter(uid__startswith=uid)] == [TODAY]


def test_a_calendar_in_utc_writes_utc(farm):
    found = written(farm, zone="UTC")
    uid = next(uid for uid in found if uid.startswith("round:2026-05-02/morning"))
    assert "DTSTART:20260502T050000Z" in found[uid]


@pytest.mark.parametrize(
    "field, options",
    [
        ("zone", {"zone": "Mars/Olympus"}),
        ("zone", {"zone": "../../etc/passwd"}),
        ("alarm_minutes", {"alarm_minutes": 1441}),
        ("alarm_minutes", {"alarm_minutes": -1}),
        ("rounds", {"rounds": "weekly"}),
        ("back_days", {"back_days": 91}),
        ("back_days", {"back_days": -1}),
        ("ahead_days", {"ahead_days": 6}),
        ("ahead_days", {"ahead_days": 367}),
    ],
)
def test_an_option_out_of_bounds_is_named_and_nothing_is_made(farm, field, options):
    with pytest.raises(BadInput) as refused:
        subscribe(farm.by, options=Options(**options))
    assert list(refused.value.fields) == [field]
    assert not CalendarLink.objects.exists()


@pytest.mark.parametrize(
    "fields", [{"ahead_days": 400}, {"back_days": 200}, {"alarm_minutes": 2000}, {"rounds": "x"}]
)
def test_the_database_holds_the_bounds_too(farm, fields):
    link = subscribe(farm.by).link
    with pytest.raises(IntegrityError), transaction.atomic():
        CalendarLink.objects.filter(pk=link.pk).update(**fields)


def test_links_with_the_same_options_share_a_body_others_do_not(farm):
    options = [USUAL, USUAL, Options(alarm_minutes=5), Options(alarm_minutes=5), Options(rounds="daily")]
    bodies = {subscribe(farm.by, options=each).get()["ETag"] for each in options}
    assert len(bodies) == CalendarBody.objects.count() == 3


@pytest.mark.parametrize(
    "change",
    [{"zone": "UTC"}, {"alarm_minutes": 0}, {"rounds": "daily"}, {"back_days": 0}, {"ahead_days": 30}],
)
def test_every_option_is_in_an_editions_name_and_key(farm, change):
    usual = editions.of(subscribe(farm.by).link)
    other = replace(usual, options=replace(USUAL, **change))
    assert other.name != usual.name
    assert other.key(TODAY) != usual.key(TODAY)
    assert len(other.name) <= EntryVersion._meta.get_field("edition").max_length


def test_a_new_alarm_moves_the_stamp_and_not_the_sequence(farm):
    from calendars.versions import settle
    from farm.planning.window import Window
    from tests.calendars.cases import timed

    window, now = Window(TODAY, 100), datetime(2026, 5, 1, 10, tzinfo=UTC)
    first = settle([timed()], {}, window, TODAY, now)
    known = {row.uid: row for row in first.new}
    (entry,) = settle([timed(alarm_minutes=-5)], known, window, TODAY, now + timedelta(hours=1)).entries
    assert (entry.stamp, entry.sequence) == (now + timedelta(hours=1), 0)


def test_refreshing_builds_each_edition_once(farm):
    for options in (USUAL, USUAL, Options(zone="UTC")):
        subscribe(farm.by, options=options)
    assert services.refresh(farm_id=farm.farm.pk, now=NOON) == 2
    assert services.refresh(farm_id=farm.farm.pk, now=NOON) == 0
