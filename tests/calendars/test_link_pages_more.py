"""The pages around a link: looked at first, with options, its own page, a new address; always for whom it concerns."""

from __future__ import annotations

import re

import pytest
from django.urls import reverse

from calendars import services
from calendars.editions import Options
from calendars.models import CalendarBody, CalendarLink, EntryVersion
from farm.models import Member
from tests.calendars.conftest import App, subscribe
from tests.conftest import NOON, TODAY

LINKS = reverse("calendar-links")


@pytest.fixture(autouse=True)
def _at_noon(time_machine):
    time_machine.move_to(NOON, tick=False)


@pytest.fixture
def ada(farm, client):
    client.force_login(farm.keeper.login)
    return client


def typed(member: Member, **fields):
    return {"label": "my phone", "scope": "farm", "member_id": member.pk} | fields


def listed(page: str) -> list[str]:
    """Return the titles of a page's preview, in order."""
    return re.findall(r'<span class="title">([^<]+)</span>', page)


def test_a_calendar_is_looked_at_before_it_is_made_and_nothing_is_kept(farm, ada):
    page = ada.post(LINKS, typed(farm.keeper, look="1", label="")).content.decode()
    assert "As an app lists it: Hollow Farm" in page
    assert "Evening round · 3 chores" in "".join(listed(page))
    for model in (CalendarLink, CalendarBody, EntryVersion):
        assert not model.objects.exists()


def test_what_was_looked_at_is_what_the_link_then_publishes(farm, ada):
    fields = typed(farm.keeper, rounds="daily", ahead_days="20", alarm_minutes="30")
    looked = listed(ada.post(LINKS, fields | {"look": "1"}).content.decode())
    made = ada.post(LINKS, fields).content.decode()
    assert looked
    assert listed(made) == looked
    published = App(CalendarLink.objects.get(), re.search(r"/c/([\w-]{32})\.ics", made)[1]).get()
    text = published.content.decode().replace("\r\n ", "")
    assert all(f"SUMMARY:{title}\r\n".replace(",", "\\,") in text for title in looked)
    assert "TRIGGER:-PT" in text or "TRIGGER:PT" in text


def test_looking_first_says_what_is_wrong_at_its_field(farm, ada):
    answer = ada.post(LINKS, typed(farm.keeper, look="1", scope="housing"))
    assert list(answer.context["form"].errors) == ["housing_id"]
    assert answer.context["preview"] is None


def test_every_option_is_taken_from_the_page(farm, ada):
    options = {"alarm_minutes": "15", "rounds": "daily", "back_days": "2", "ahead_days": "40"}
    wanted = Options("America/New_York", 15, "daily", 2, 40)
    room = farm.housing["Brooder 1"].pk
    ada.post(LINKS, typed(farm.keeper, scope="housing", housing_id=room, zone="america/new york", **options))
    link = CalendarLink.objects.get()
    assert (link.scope, link.about) == ("housing", room)
    assert Options(link.zone, link.alarm_minutes, link.rounds, link.back_days, link.ahead_days) == wanted


@pytest.mark.parametrize(
    "field, value",
    [
        ("alarm_minutes", "1441"),
        ("back_days", "91"),
        ("ahead_days", "5"),
        ("zone", "Atlantis"),
        ("rounds", "hourly"),
        ("housing_id", "999"),
        ("batch_id", "x"),
    ],
)
def test_an_option_that_cannot_be_is_refused_at_its_field_and_unfolded(farm, ada, field, value):
    answer = ada.post(LINKS, typed(farm.keeper) | {field: value})
    form = answer.context["form"]
    assert list(form.errors) == [field]
    assert field in [bound.name for bound in form.first]
    assert not CalendarLink.objects.exists()


def test_another_farms_housing_is_no_choice(farm, ada, elsewhere):
    theirs = elsewhere.add_housing("Far Brooder")
    answer = ada.post(LINKS, typed(farm.keeper, scope="housing", housing_id=theirs.pk))
    assert list(answer.context["form"].errors) == ["housing_id"]
    assert "Far Brooder" not in answer.content.decode()


def test_a_child_looks_at_their_own_whatever_was_posted(farm, client):
    kim = farm.add_member("Kim", "child")
    client.force_login(kim.login)
    room = farm.housing["Brooder 1"].pk
    page = client.post(LINKS, typed(farm.keeper, scope="housing", housing_id=room, look="1")).content.decode()
    assert "Hollow Farm: Kim" in page
    assert "Check the heat" not in page


def test_a_new_link_comes_with_a_code_and_words_about_delay_and_leaving(farm, ada):
    page = ada.post(LINKS, typed(farm.keeper)).content.decode()
    assert re.search(r'<svg[^>]*class="qr"', page)
    assert "up to a day" in page
    assert "webcal://" in page


def test_a_link_is_made_and_shown_even_where_its_calendar_cannot_be_built(farm, ada, monkeypatch):
    def broken(*_arguments):
        raise RuntimeError("no")

    monkeypatch.setattr(services, "build", broken)
    page = ada.post(LINKS, typed(farm.keeper)).content.decode()
    assert re.search(r"/c/[\w-]{32}\.ics", page)
    assert "As an app lists it" not in page


def test_a_links_own_page_says_how_it_is_written_and_who_asked_last(farm, ada):
    app = subscribe(farm.by, options=Options(alarm_minutes=20, zone="America/New_York"))
    services.used(app.link, TODAY, "apple")
    page = ada.get(reverse("calendar-link", args=[app.link.pk])).content.decode()
    said = ("20 minutes before", "America/New_York", "1 May 2026, an Apple device", "30 back, 180 ahead")
    for words in (*said, "English"):
        assert words in page
    assert app.secret not in page
    assert "01:00–" in page


def test_the_list_of_links_names_the_thing_and_the_program(farm, ada):
    app = subscribe(farm.by, scope="housing", housing_id=farm.housing["Brooder 2"].pk)
    services.used(app.link, TODAY, "script")
    page = ada.get(LINKS).content.decode()
    assert "one housing: Brooder 2" in page
    assert "1 May, a script" in page


def test_nobody_sees_rotates_or_copies_from_a_link_that_is_not_theirs(farm, client, ada, elsewhere):
    mine, far = subscribe(farm.by), subscribe(elsewhere.by)
    helper = farm.add_member("Ben", "helper")
    names = ("calendar-link", "calendar-link-event", "calendar-link-rotate")
    for name in names:
        assert ada.get(reverse(name, args=[far.link.pk])).status_code == 404
    client.force_login(helper.login)
    for name in names:
        assert client.get(reverse(name, args=[mine.link.pk])).status_code == 404
    assert client.post(reverse("calendar-link-rotate", args=[mine.link.pk])).status_code == 404
    assert not CalendarLink.objects.filter(revoked_at__isnull=False).exists()


def test_a_keeper_looks_at_a_childs_link(farm, ada):
    app = subscribe(farm.add_member("Kim", "child"), scope="mine")
    page = ada.get(reverse("calendar-link", args=[app.link.pk])).content.decode()
    assert "As an app lists it: Hollow Farm: Kim" in page


def test_a_new_address_is_asked_for_first_and_then_shown_once(farm, ada):
    app = subscribe(farm.by)
    url = reverse("calendar-link-rotate", args=[app.link.pk])
    assert "Give “phone” a new address?" in ada.get(url).content.decode()
    assert CalendarLink.objects.get().revoked_at is None
    answer = ada.post(url)
    new = App(app.link, re.search(r"/c/([\w-]{32})\.ics", answer.content.decode())[1])
    assert "no-store" in answer["Cache-Control"]
    assert new.get().status_code == 200
    assert b"Calendar switched off" in app.get().content
    assert ada.get(reverse("calendar-link", args=[app.link.pk])).status_code == 404
    assert "1 switched off" in ada.get(LINKS).content.decode()


def test_one_event_of_a_link_is_saved_as_it_is_published(farm, ada):
    app = subscribe(farm.by)
    page = ada.get(reverse("calendar-link", args=[app.link.pk])).content.decode()
    address = re.search(r'href="(/calendars/\d+/event/\?uid=[^"]+)"', page)[1]
    answer = ada.get(address)
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="featherdays-hollow-farm-event.ics"'
    event = answer.content[answer.content.index(b"BEGIN:VEVENT") : answer.content.index(b"END:VEVENT")]
    assert event in app.get().content
    assert answer.content.count(b"BEGIN:VEVENT") == 1


def test_an_event_that_is_gone_is_not_found_and_none_asked_for_leads_to_the_link(farm, ada):
    url = reverse("calendar-link-event", args=[subscribe(farm.by).link.pk])
    assert ada.get(url, {"uid": "nobody@farm"}).status_code == 404
    assert ada.get(url).url == reverse("calendar-link", args=[CalendarLink.objects.get().pk])
