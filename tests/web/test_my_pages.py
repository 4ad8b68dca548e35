"""The personal page: what it shows, and its plain forms where no script runs."""

from __future__ import annotations

import re
from datetime import timedelta
from io import BytesIO

import pytest
import time_machine
from django.core.cache import cache
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from PIL import Image

from farm.models import Assignment, ChoreMark, CountEntry, HistoryEntry, MarkPhoto
from farm.models.member import Role
from farm.services import own_chores, rota
from tests.conftest import NOON, TODAY, World
from tests.web.my_pages import (
    FEED,
    HEAT,
    get,
    line_of,
    lines,
    link_of,
    press,
    text_of,
)


@pytest.fixture(autouse=True)
def _nothing_counted() -> None:
    cache.clear()


@pytest.fixture
def chicks(world: World) -> World:
    """Nine-day-old chicks in Brooder 1."""
    world.add_batch("Spring", age=9, housing="Brooder 1")
    return world


@pytest.fixture
def ada(chicks: World, client: Client) -> Client:
    client.force_login(chicks.by.login)
    return client


@pytest.fixture
def kim(chicks: World) -> str:
    """The address of a child's personal link."""
    return link_of(chicks, chicks.add_member("Kim", Role.CHILD, login=False).member)


def picture() -> bytes:
    out = BytesIO()
    Image.new("RGB", (60, 40), "green").save(out, "JPEG")
    return out.getvalue()


def test_the_round_it_is_now_comes_first_with_what_belongs_to_each_line(ada):
    page = get(ada)
    assert [one.key for one in page.context["work"].today.rounds] == ["morning", "evening"]
    assert [one.current for one in page.context["work"].today.rounds] == [True, False]
    late = get(ada, at=NOON + timedelta(hours=8))
    assert [one.key for one in late.context["work"].today.rounds] == ["evening", "morning"]
    text = text_of(page)
    for said in (
        "Friday 1 May",
        "Feed and water",
        "8 min",
        "Clean, full feeders",
        "Wash your hands",
        "adults only",
    ):
        assert said in text


def test_two_more_days_can_be_read_and_not_yet_ticked(ada):
    page = get(ada)
    ahead = page.context["work"].ahead
    assert [one.day for one in ahead] == [TODAY + timedelta(days=1), TODAY + timedelta(days=2)]
    assert all(one.lines for one in ahead)
    assert "Saturday 2 May" in text_of(page)
    ids = re.findall(r'data-line="[^|]+\|([^|]+)\|', page.content.decode())
    assert max(ids) == TODAY.isoformat()


def test_how_much_is_done_is_said(ada):
    page = get(ada)
    total = page.context["work"].total
    assert f"0 of {total} done , about " in text_of(page)
    press(ada, line_of(page))
    assert f"1 of {total} done" in text_of(get(ada))
    for line in lines(page):
        press(ada, line)
    assert "All done for the day." in text_of(get(ada))


def test_with_a_rota_a_member_sees_their_own_chores_and_who_else_is_on_them(chicks, client):
    hal, kim = chicks.add_member("Hal", Role.HELPER), chicks.add_member("Kim", Role.CHILD, login=False)
    rota.start(chicks.by)
    Assignment.objects.all().delete()
    source = f"room:{chicks.housing['Brooder 1'].pk}/feed_water"
    for seat, by in enumerate((hal, kim)):
        Assignment.objects.create(
            farm=chicks.farm,
            source=source,
            due=TODAY,
            round="morning",
            seat=seat,
            day=TODAY,
            member=by.member,
        )
    client.force_login(hal.login)
    page = get(client)
    assert [(line.line.title, line.others) for line in lines(page)] == [(FEED, ("Kim",))]
    assert "with Kim" in text_of(page)


def test_a_child_is_told_beside_whom_and_sees_only_its_own_work(chicks, kim, client):
    page = get(client, kim)
    assert "You do these beside an adult: Ada." in text_of(page)
    assert HEAT not in text_of(page)
    assert {line.line.may for line in lines(page)} == {True}


def test_a_farm_without_birds_has_an_empty_page(world, client):
    client.force_login(world.by.login)
    assert "Nothing for you today." in text_of(get(client))


def test_a_line_is_ticked_noted_and_opened_again_by_plain_forms(ada, chicks):
    answer = press(ada, line_of(get(ada)))
    assert (answer.status_code, answer.url) == (302, f"/my/#my-{line_of(get(ada)).name}")
    assert "done, Ada, 12:00" in text_of(get(ada))
    press(ada, line_of(get(ada)), "note", note="all eaten")
    assert ChoreMark.objects.get().note == "all eaten"
    press(ada, line_of(get(ada)), "untick")
    assert not ChoreMark.objects.exists()


def test_a_form_sent_twice_is_one_tick_and_another_button_is_another_thing(ada):
    line = line_of(get(ada))
    press(ada, line)
    press(ada, line)
    assert HistoryEntry.objects.filter(verb="tick").count() == 1
    press(ada, line, "untick")
    assert not ChoreMark.objects.exists()


def test_what_is_refused_is_said_on_the_page_itself(ada):
    answer = press(ada, line_of(get(ada)), "skip")
    assert answer.status_code == 200
    assert f"{FEED} : Write why it is left out, in a word or two." in text_of(answer)


def test_a_chore_is_left_out_with_its_reason(ada):
    press(ada, line_of(get(ada)), "skip", note="vet comes")
    assert "skipped, Ada, 12:00: vet comes" in text_of(get(ada))


def test_deaths_are_counted_where_they_happened(ada, chicks):
    page = get(ada)
    assert "Birds died here" in text_of(page)
    (place,) = (one for one in page.context["work"].today.rounds[0].places if one.batches)
    typed = {"key": place.form_key, "kind": "died", "batch": place.batches[0].pk, "housing": place.housing}
    for _ in range(2):
        ada.post("/my/", typed | {"birds": "3", "line": "round-morning"})
    entry = CountEntry.objects.get(kind="died")
    assert (entry.birds, entry.housing, entry.batch.name) == (-3, chicks.housing["Brooder 1"], "Spring")


@pytest.mark.parametrize("birds", ["", "-3", "3.5", "many", "9" * 30, "٣x"])
def test_a_number_that_is_none_counts_nobody(ada, birds):
    (place,) = (one for one in get(ada).context["work"].today.rounds[0].places if one.batches)
    typed = {"key": "k", "kind": "died", "batch": place.batches[0].pk, "housing": place.housing}
    answer = ada.post("/my/", typed | {"birds": birds})
    assert "Enter a number from 1 to 5000." in text_of(answer)
    assert not CountEntry.objects.filter(kind="died").exists()


def test_where_a_picture_is_asked_for_it_is_taken_and_shown_to_the_farm(ada, chicks, elsewhere):
    own_chores.add(chicks.by, title="Look at the door", start=TODAY, asks="photo")
    page = get(ada)
    assert page.content.decode().count('capture="environment"') == 1
    line = line_of(page, "Look at the door")
    press(ada, line, photo=SimpleUploadedFile("door.jpg", picture(), "image/jpeg"))
    address = f"/my/photo/{MarkPhoto.objects.get().pk}/"
    assert f'src="{address}"' in get(ada).content.decode()
    shown = get(ada, address)
    assert (shown["Content-Type"], shown["X-Content-Type-Options"]) == ("image/jpeg", "nosniff")
    assert shown.content[:3] == b"\xff\xd8\xff"
    stranger = Client()
    assert get(stranger, address).status_code == 302
    stranger.force_login(elsewhere.by.login)
    assert get(stranger, address).status_code == 404


def test_where_a_note_is_asked_for_its_field_is_open(ada, chicks):
    own_chores.add(chicks.by, title="Read the meter", start=TODAY, asks="note")
    page = get(ada).content.decode()
    assert "A note is asked for." in page
    folds = re.findall(r'<details class="behind" id="how-([^"]+)"( open)?>', page)
    assert [name for name, opened in folds if opened] == [line_of(get(ada), "Read the meter").name]


def test_a_jump_back_goes_to_the_page_alone(ada, chicks):
    for line in ("//evil.example", "x\r\nSet-Cookie: a=b", "https://evil.example/", "#", ""):
        answer = press(ada, line_of(get(ada)), jump=line or "/")
        assert answer.url == "/my/"
        press(ada, line_of(get(ada)), "untick")


@pytest.mark.parametrize("days, there", [(0, True), (2, True), (3, False), (-1, False)])
def test_a_calendars_link_to_a_day_the_page_does_not_reach_opens_that_day(world, client, days, there):
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        asked = (TODAY + timedelta(days=days)).isoformat()
        answer = client.get(reverse("my"), {"day": asked})
    if there:
        assert answer.status_code == 200
    else:
        assert answer["Location"] == f"{reverse('today')}?day={asked}&mine=1"
