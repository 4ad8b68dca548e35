"""The pages of calendars read for days away: added, seen before they are used, used, changed, removed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path
from ssl import SSLContext
from typing import Any

import pytest
import time_machine
from django.test import Client
from django.urls import reverse

from calendars.incoming import services
from calendars.models import OuterCalendar
from farm.models import Away, Login, Member
from farm.services import members
from tests.calendars.incoming_world import address, calendar, served, whole
from tests.conftest import NOON, TODAY, World, actor
from tests.farm.channels_world import Stub, always
from tests.farm.rota_world import begin, refresh

MAY_4 = date(2026, 5, 4)
TRIP = whole("1", MAY_4, date(2026, 5, 6), title="Class trip")
BINS = whole("2", date(2026, 5, 8), title="Bin day")
FORM = {"label": "School", "counts": "days", "least_hours": "", "words": "", "without": ""}


@pytest.fixture
def stub(monkeypatch, pem: Path, trust: SSLContext):
    with served(monkeypatch, pem, trust, calendar(TRIP, BINS)) as found:
        yield found


@pytest.fixture
def ada(world: World, client: Client) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def finn(world: World) -> Member:
    return members.add(world.by, name="Finn", role="keeper")


def words(answer: Any) -> str:
    return " ".join(answer.content.decode().split())


def added(ada: Client, member: Member, stub: Stub, **typed: str) -> OuterCalendar:
    typed = FORM | {"address": address(stub), "member_id": str(member.pk)} | typed
    answer = ada.post(reverse("incoming"), typed)
    row = OuterCalendar.objects.get()
    assert answer.url == reverse("incoming-page", args=[row.pk])
    return row


def test_a_calendar_is_seen_before_it_makes_a_day_away(ada: Client, finn: Member, stub: Stub):
    row = added(ada, finn, stub)
    said = words(ada.get(reverse("incoming-page", args=[row.pk])))
    assert "Nothing is kept yet" in said
    assert "4 May – 6 May" in said
    assert "Class trip" in said
    assert "secret" not in said
    assert Away.objects.count() == 0
    ada.post(reverse("incoming-switch", args=[row.pk]), {"on": "1"})
    assert Away.objects.filter(member=finn, start=MAY_4, end=date(2026, 5, 7)).exists()
    said = words(ada.get(reverse("incoming-page", args=[row.pk])))
    assert "Nothing is kept yet" not in said
    assert "Not away yet" not in said


def test_the_rota_it_would_lead_to_is_shown(ada: Client, world: World, finn: Member, stub: Stub):
    world.add_batch("Browns", housing="Brooder 1")
    begin(world)
    refresh(world)
    row = added(ada, finn, stub)
    answer = ada.get(reverse("incoming-page", args=[row.pk]))
    outcome = answer.context["shown"].outcome
    assert {day for day, _lines in outcome.days} <= {MAY_4 + timedelta(days=n) for n in (0, 1, 2, 4)}
    assert outcome.days
    assert "Who would do it instead" in words(answer)
    ada.post(reverse("incoming-switch", args=[row.pk]), {"on": "1"})
    assert ada.get(reverse("incoming-page", args=[row.pk])).context["shown"].outcome is None


def test_what_is_wrong_with_an_address_is_said_beside_it(ada: Client, finn: Member, stub: Stub):
    stub.answer = always(404)
    answer = ada.post(reverse("incoming"), FORM | {"address": address(stub), "member_id": finn.pk})
    assert answer.context["form"].errors["address"] == ["There is no calendar at this address any more."]
    answer = ada.post(reverse("incoming"), FORM | {"address": "http://x.example/", "member_id": finn.pk})
    assert "https://" in answer.context["form"].errors["address"][0]


def test_what_counts_is_changed_after_seeing_it(ada: Client, finn: Member, stub: Stub):
    row = added(ada, finn, stub)
    ada.post(reverse("incoming-switch", args=[row.pk]), {"on": "1"})
    assert Away.objects.count() == 2
    version = str(OuterCalendar.objects.get().version)
    page = reverse("incoming-edit", args=[row.pk])
    assert 'value="School"' in words(ada.get(page))
    typed = FORM | {"without": "bin", "version": version}
    answer = ada.post(page, typed)
    assert [line.title for line in answer.context["shown"].silent] == ["Bin day"]
    assert answer.context["shown"].away == ("4 May – 6 May",)
    assert Away.objects.count() == 2
    hidden = {field.html_name: field.value() for field in answer.context["form"]}
    ada.post(page, {name: "" if value is None else value for name, value in hidden.items()} | {"keep": "1"})
    assert OuterCalendar.objects.get().without == "bin"
    assert [row.start for row in Away.objects.all()] == [MAY_4]
    assert "Somebody changed this" in words(ada.post(page, typed | {"keep": "1"}))


def test_a_failure_is_said_with_how_old_the_days_are(ada: Client, finn: Member, stub: Stub):
    row = added(ada, finn, stub)
    ada.post(reverse("incoming-switch", args=[row.pk]), {"on": "1"})
    stub.answer = always(500)
    with time_machine.travel(NOON + timedelta(hours=2), tick=False):
        ada.post(reverse("incoming-again", args=[row.pk]))
        for page in (reverse("incoming"), reverse("incoming-page", args=[row.pk])):
            assert "answered with an error" in words(ada.get(page))
    assert "The days are as they were on 1 May, 12:00" in words(
        ada.get(reverse("incoming-page", args=[row.pk]))
    )
    assert Away.objects.count() == 2


def test_pressing_twice_is_answered_kindly(ada: Client, finn: Member, stub: Stub):
    row = added(ada, finn, stub)
    assert "just now" in words(ada.post(reverse("incoming-again", args=[row.pk]), follow=True))


def test_removing_is_asked_first(ada: Client, finn: Member, stub: Stub):
    row = added(ada, finn, stub)
    page = reverse("incoming-remove", args=[row.pk])
    assert "Remove “School”?" in words(ada.get(page))
    assert OuterCalendar.objects.exists()
    assert ada.post(page).url == reverse("incoming")
    assert not OuterCalendar.objects.exists()


def test_days_from_a_calendar_have_no_button_that_would_not_last(ada: Client, finn: Member, stub: Stub):
    row = added(ada, finn, stub)
    ada.post(reverse("incoming-switch", args=[row.pk]), {"on": "1"})
    page = ada.get(reverse("member-away", args=[finn.pk]))
    assert "from a calendar" in words(page)
    assert reverse("away-remove", args=[Away.objects.first().pk]) not in words(page)
    answer = ada.post(reverse("away-remove", args=[Away.objects.first().pk]))
    assert "come from the calendar “School”" in words(answer)


def test_a_keeper_sees_the_days_of_who_signs_in_and_not_what_they_are(ada: Client, world: World, stub: Stub):
    cara = world.add_member("Cara", "helper")
    row = services.add(cara, member_id=cara.member.pk, address=address(stub), **FORM | {"least_hours": 4})
    said = words(ada.get(reverse("incoming-page", args=[row.pk])))
    assert "4 May – 6 May" in said
    assert "Class trip" not in said
    assert "title not shown" in said
    ada.force_login(Login.objects.get(pk=cara.login.pk))
    assert "Class trip" in words(ada.get(reverse("incoming-page", args=[row.pk])))


def test_a_helper_has_no_choice_of_whose_and_finds_only_their_own(
    ada: Client, world: World, finn: Member, stub: Stub
):
    row = added(ada, finn, stub)
    cara = world.add_member("Cara", "helper")
    ada.force_login(Login.objects.get(pk=cara.login.pk))
    assert "member_id" not in ada.get(reverse("incoming")).context["form"].fields
    for name in ("page", "edit", "remove"):
        assert ada.get(reverse(f"incoming-{name}", args=[row.pk])).status_code == 404
    for name in ("switch", "again", "remove"):
        assert ada.post(reverse(f"incoming-{name}", args=[row.pk])).status_code == 404


def test_hostile_titles_are_only_text(ada: Client, finn: Member, stub: Stub):
    stub.answer = always(200, calendar(whole("1", MAY_4, title="<script>alert(1)</script>=HYPERLINK(1)")))
    row = added(ada, finn, stub)
    said = words(ada.get(reverse("incoming-page", args=[row.pk])))
    assert "<script>alert" not in said
    assert "&lt;script&gt;alert(1)" in said


def test_the_address_is_in_no_log(ada: Client, finn: Member, stub: Stub, caplog):
    caplog.set_level("DEBUG")
    row = added(ada, finn, stub)
    stub.answer = always(500)
    services.again(actor(row.farm, finn, NOON + timedelta(hours=1)), calendar_id=row.pk)
    assert "secret.ics" not in caplog.text
    assert row.read_on == TODAY
