"""Calendar links on the pages: made, shown once, seen by whom they concern, switched off."""

import re

import pytest
from django.urls import reverse

from calendars import services
from calendars.models import CalendarLink
from farm.queries.tokens import token_hash


@pytest.fixture
def ada(world, client):
    client.force_login(world.keeper.login)
    return client


@pytest.fixture
def hal(world):
    return world.add_member("Hal", "helper")


@pytest.fixture
def kim(world):
    return world.add_member("Kim", "child")


def make(by, label="phone", scope="mine"):
    return services.make_link(by, member_id=by.member.pk, label=label, scope=scope)[0]


def typed(member, **fields):
    return {"label": "my phone", "scope": "mine", "member_id": member.pk} | fields


def test_a_new_link_is_shown_once_as_address_and_for_the_calendar_app(world, ada):
    answer = ada.post(reverse("calendar-links"), typed(world.keeper))
    page = answer.content.decode()
    secret = re.search(r">http://localhost:\d+/c/([\w-]{32})\.ics<", page)[1]
    link = CalendarLink.objects.get()
    assert re.search(rf'href="webcal://localhost:\d+/c/{secret}\.ics"', page)
    assert (link.token_sha256, link.member, link.scope) == (token_hash(secret), world.keeper, "mine")
    assert (link.label, link.language) == ("my phone", "en")
    assert 'data-copy="address"' in page
    assert "no-store" in answer["Cache-Control"]
    assert secret not in ada.get(reverse("calendar-links")).content.decode()


def test_the_shown_address_opens_the_calendar(world, ada, client):
    page = ada.post(reverse("calendar-links"), typed(world.keeper, scope="farm")).content.decode()
    answer = type(client)().get(re.search(r"/c/[\w-]{32}\.ics", page)[0])
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"


def test_the_page_tells_how_to_add_it_without_naming_an_app(world, ada):
    page = ada.post(reverse("calendar-links"), typed(world.keeper)).content.decode()
    assert "How to add it" in page
    for name in ("Google", "Apple", "Outlook", "Thunderbird", "iPhone", "Android"):
        assert name.lower() not in page.lower()


def test_a_keeper_may_make_one_for_somebody_else(world, ada, hal):
    ada.post(reverse("calendar-links"), typed(hal.member))
    assert CalendarLink.objects.get().member == hal.member


def test_a_keeper_cannot_give_a_child_the_whole_farms(world, ada, kim):
    answer = ada.post(reverse("calendar-links"), typed(kim.member, scope="farm"))
    assert list(answer.context["form"].errors) == ["scope"]
    assert answer.context["form"]["label"].value() == "my phone"
    assert not CalendarLink.objects.exists()


def test_a_helper_makes_their_own_whatever_was_posted(world, client, hal):
    client.force_login(hal.login)
    page = client.get(reverse("calendar-links")).content.decode()
    assert 'name="member_id"' not in page
    client.post(reverse("calendar-links"), typed(world.keeper, scope="farm"))
    link = CalendarLink.objects.get()
    assert (link.member, link.scope) == (hal.member, "farm")


def test_a_child_is_asked_for_the_place_alone_and_may_say_how_it_looks(world, client, kim):
    client.force_login(kim.login)
    form = client.get(reverse("calendar-links")).context["form"]
    assert [field.name for field in form.first] == ["label"]
    assert not {"scope", "member_id", "housing_id", "batch_id"} & set(form.fields)
    client.post(reverse("calendar-links"), typed(kim.member, scope="farm"))
    assert CalendarLink.objects.get().scope == "mine"


@pytest.mark.parametrize(
    "fields, field",
    [
        ({"label": ""}, "label"),
        ({"label": "x" * 61}, "label"),
        ({"scope": "all"}, "scope"),
        ({"member_id": "999999"}, "member_id"),
        ({"member_id": "x"}, "member_id"),
    ],
)
def test_what_cannot_be_right_is_refused_at_its_field(world, ada, hal, fields, field):
    answer = ada.post(reverse("calendar-links"), typed(world.keeper) | fields)
    assert list(answer.context["form"].errors) == [field]
    assert not CalendarLink.objects.exists()


def test_another_farms_member_cannot_be_chosen(world, ada, hal, elsewhere):
    answer = ada.post(reverse("calendar-links"), typed(elsewhere.keeper))
    assert list(answer.context["form"].errors) == ["member_id"]


def test_a_keeper_sees_all_of_the_farms_links_and_no_others(world, ada, hal, elsewhere):
    make(world.by, "Ada's phone")
    make(hal, "Hal's tablet")
    make(elsewhere.by, "Bea's phone")
    page = ada.get(reverse("calendar-links")).content.decode()
    assert ("Ada&#x27;s phone" in page, "Hal&#x27;s tablet" in page, "Bea" in page) == (True, True, False)


def test_others_see_their_own_links_only(world, client, hal):
    make(world.by, "kitchen wall")
    make(hal, "barn tablet")
    client.force_login(hal.login)
    page = client.get(reverse("calendar-links")).content.decode()
    assert ("barn tablet" in page, "kitchen wall" in page) == (True, False)


def test_the_day_of_last_use_is_shown(world, ada):
    link = make(world.by)
    assert "not yet" in ada.get(reverse("calendar-links")).content.decode()
    services.used(link, world.by.today)
    assert "1 May" in ada.get(reverse("calendar-links")).content.decode()


def test_switching_off_is_asked_first_and_then_done_at_once(world, ada):
    link = make(world.by)
    url = reverse("calendar-link-off", args=[link.pk])
    assert "Switch “phone” off?" in ada.get(url).content.decode()
    link.refresh_from_db()
    assert link.revoked_at is None
    page = ada.post(url, follow=True).content.decode()
    link.refresh_from_db()
    assert link.revoked_at is not None
    assert "“phone” is switched off." in page
    assert "1 switched off" in page


def test_nobody_switches_off_what_they_cannot_see(world, client, hal, elsewhere, ada):
    theirs, far = make(world.by), make(elsewhere.by)
    assert ada.post(reverse("calendar-link-off", args=[far.pk])).status_code == 404
    client.force_login(hal.login)
    for method in (client.get, client.post):
        assert method(reverse("calendar-link-off", args=[theirs.pk])).status_code == 404
    assert not CalendarLink.objects.filter(revoked_at__isnull=False).exists()


def test_a_keeper_switches_off_a_helpers_lost_phone(world, ada, hal):
    link = make(hal)
    ada.post(reverse("calendar-link-off", args=[link.pk]))
    link.refresh_from_db()
    assert link.revoked_at is not None


def test_strangers_see_no_links(client, db):
    assert client.get(reverse("calendar-links")).url == "/login/?next=/calendars/"
