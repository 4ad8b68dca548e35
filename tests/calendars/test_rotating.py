"""A new address for a link: the new one opens the same calendar, the old one is switched off."""

from datetime import timedelta

import pytest

from calendars import queries, services
from calendars.clients import called, family
from calendars.editions import Options
from calendars.models import CalendarLink
from calendars.services import MOST_LINKS
from farm.errors import NotFound
from farm.models import HistoryEntry
from farm.services import members
from tests.calendars.conftest import App, subscribe
from tests.calendars.linter import problems
from tests.conftest import NOON, TODAY

MINUTE = timedelta(minutes=1)


def rotated(by, app: App) -> App:
    return App(*services.rotate_link(by, link_id=app.link.pk))


def test_the_new_address_opens_the_same_calendar(app, farm):
    first = app.get()
    new = rotated(farm.by, app)
    assert new.secret != app.secret
    assert len(new.secret) == 32
    again = new.get()
    assert (again.status_code, again.content, again["ETag"]) == (200, first.content, first["ETag"])


def test_the_old_address_answers_as_switched_off_and_later_as_gone(app, farm):
    rotated(farm.by, app)
    old = app.get(NOON + MINUTE)
    assert (old.status_code, problems(old.content)) == (200, [])
    assert old.content.count(b"BEGIN:VEVENT") == 1
    assert b"SUMMARY:Calendar switched off" in old.content
    assert app.get(NOON + timedelta(days=31)).status_code == 410


def test_everything_about_the_link_is_kept_but_who_used_it(farm):
    options = Options(alarm_minutes=15, rounds="daily", back_days=3, ahead_days=40, zone="UTC")
    app = subscribe(farm.by, scope="housing", housing_id=farm.housing["Brooder 1"].pk, options=options)
    services.used(app.link, TODAY, "apple")
    new = rotated(farm.by, app).link
    kept = ["member", "scope", "about", "label", "language", "zone", "alarm_minutes", "rounds"]
    kept += ["back_days", "ahead_days", "farm"]
    assert [getattr(new, name) for name in kept] == [getattr(app.link, name) for name in kept]
    assert (new.last_used_on, new.last_client, new.revoked_at) == (None, "", None)
    assert new.pk != app.link.pk


def test_a_new_address_is_possible_for_the_last_of_the_most_links(world):
    apps = [subscribe(world.by) for _ in range(MOST_LINKS)]
    rotated(world.by, apps[0])
    live = queries.links_of(world.keeper).filter(revoked_at__isnull=True)
    assert live.count() == MOST_LINKS


def test_a_link_that_is_off_gets_no_new_address(app, farm):
    services.revoke_link(farm.by, link_id=app.link.pk)
    with pytest.raises(NotFound):
        rotated(farm.by, app)
    assert CalendarLink.objects.count() == 1


def test_a_link_rotated_twice_at_once_has_one_new_address(app, farm):
    rotated(farm.by, app)
    with pytest.raises(NotFound):
        rotated(farm.by, app)
    assert CalendarLink.objects.filter(revoked_at__isnull=True).count() == 1


def test_the_link_of_a_member_who_left_gets_no_new_address(farm):
    helper = farm.add_member("Ben", "helper")
    app = subscribe(helper)
    members.leave(farm.by, member_id=helper.member.pk)
    with pytest.raises(NotFound):
        rotated(farm.by, app)


def test_a_keeper_rotates_anybodys_link_others_only_their_own(farm, elsewhere):
    helper, child = farm.add_member("Ben", "helper"), farm.add_member("Kim", "child")
    kims = subscribe(child, scope="mine")
    with pytest.raises(NotFound):
        rotated(helper, kims)
    assert rotated(farm.by, rotated(child, kims)).link.member == child.member
    with pytest.raises(NotFound):
        rotated(elsewhere.by, subscribe(farm.by))


def test_no_trace_of_the_new_secret_is_left_in_the_history(app, farm):
    new = rotated(farm.by, app)
    entry = HistoryEntry.objects.latest("pk")
    assert entry.summary == "Calendar link “phone” given a new address"
    assert new.secret not in str([change.after for change in entry.changes.all()])
    assert new.secret not in str(CalendarLink.objects.filter(pk=new.link.pk).values().get())


@pytest.mark.parametrize(
    "agent, expected",
    [
        ("iOS/17.5 (21F79) dataaccessd/1.0", "apple"),
        ("Mac OS X/10.15.7 (19H15) CalendarAgent/930.5.1", "apple"),
        ("macOS/14.4 (23E214) dataaccessd/1.0", "apple"),
        ("Google-Calendar-Importer", "google"),
        ("Mozilla/5.0 (compatible; Googlebot/2.1)", "google"),
        ("Microsoft.Exchange/15.20 (Calendar sharing)", "microsoft"),
        ("Microsoft Office/16.0 (Windows NT 10.0; Microsoft Outlook 16.0)", "microsoft"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:128.0) Gecko/20100101 Thunderbird/128.0", "mail"),
        ("Mozilla/5.0 (Macintosh; Intel Mac OS X 10_15_7) Safari/605.1.15", "browser"),
        ("Mozilla/5.0 (Linux; Android 14) Chrome/125.0 Mobile Safari/537.36", "browser"),
        ("ICSx5/2.2.1 (jb Workmanager; okhttp/4.12) Android/14", "android"),
        ("curl/8.5.0", "script"),
        ("python-requests/2.32", "script"),
        ("", "other"),
        ("\x00\u202e" * 5000, "other"),
    ],
)
def test_a_programs_family_is_told_and_has_a_name(agent, expected):
    assert family(agent) == expected
    assert called(expected)


def test_a_link_never_used_has_no_family():
    assert called("") == ""


def test_the_family_is_noted_and_nothing_else_of_what_the_program_said(app):
    agent = "iOS/17.5 (21F79) dataaccessd/1.0 Kims-own-phone"
    app.get(user_agent=agent)
    row = CalendarLink.objects.values().get()
    assert (row["last_used_on"], row["last_client"]) == (TODAY, "apple")
    assert "Kims" not in str(row)


def test_the_same_family_the_same_day_is_written_once(app, django_assert_num_queries):
    app.get(user_agent="curl/8.5")
    link = CalendarLink.objects.get()
    with django_assert_num_queries(0):
        services.used(link, TODAY, "script")
    with django_assert_num_queries(1):
        services.used(link, TODAY, "apple")
    assert CalendarLink.objects.get().last_client == "apple"
