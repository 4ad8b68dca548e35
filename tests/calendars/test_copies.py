"""Copies: one event, one batch, a whole season; as a calendar file or a table, for those who may see it."""

from __future__ import annotations

import csv
import io
import re

import icalendar
import pytest
from django.urls import reverse

from calendars.models import CalendarBody, EntryVersion
from farm.models import Batch
from tests.calendars.conftest import subscribe
from tests.calendars.linter import problems
from tests.calendars.test_build import events
from tests.conftest import NOON
from tests.farm.orders_world import take

COPY = reverse("calendar-copy")
SEASON = {"start": "2026-04-01", "end": "2026-09-30"}


@pytest.fixture(autouse=True)
def _at_noon(time_machine):
    time_machine.move_to(NOON, tick=False)


@pytest.fixture
def ada(farm, client):
    client.force_login(farm.keeper.login)
    return client


def asked(client, kind="ics", **fields):
    return client.get(COPY, {"scope": "farm", "as": kind} | SEASON | fields)


def table(answer) -> list[dict[str, str]]:
    text = answer.content.decode()
    assert text.startswith("\ufeff")
    return list(csv.DictReader(io.StringIO(text[1:], newline="")))


def test_a_season_is_a_sound_calendar_to_save_without_a_method(farm, ada):
    answer = asked(ada)
    assert answer.status_code == 200
    assert answer["Content-Type"] == "text/calendar; charset=utf-8"
    assert answer["Content-Disposition"] == 'attachment; filename="featherdays-hollow-farm.ics"'
    assert answer["X-Content-Type-Options"] == "nosniff"
    assert "no-store" in answer["Cache-Control"]
    assert problems(answer.content) == []
    assert b"METHOD" not in answer.content


def test_a_copy_holds_the_days_that_were_asked_for_both_ends_included(farm, ada):
    days = {row["Day"] for row in table(asked(ada, "csv", start="2026-05-03", end="2026-05-05"))}
    assert days == {"2026-05-03", "2026-05-04", "2026-05-05"}


@pytest.mark.parametrize("start, end", [("2026-04-20", "2026-04-25"), ("2026-08-01", "2026-08-02")])
def test_days_wholly_behind_or_ahead_of_today_can_be_copied(farm, ada, start, end):
    days = {row["Day"] for row in table(asked(ada, "csv", start=start, end=end))}
    assert days
    assert min(days) >= start
    assert max(days) <= end


def test_a_copy_has_the_events_the_calendar_publishes(farm, ada):
    published = events(subscribe(farm.by))
    copied = icalendar.Calendar.from_ical(asked(ada).content).walk("VEVENT")
    uids = {str(event["UID"]) for event in copied}
    assert {uid for uid in published if "2026-05" in uid} <= uids


def test_a_copy_is_whole_where_a_published_calendar_would_be_cut(farm, ada):
    for number in range(6):
        farm.add_housing(name := f"House {number} " + "é" * 45)
        for age in range(4):
            farm.add_batch(f"B{number}.{age} " + "é" * 40, age=age, housing=name, birds=5)
    assert b"Shortened" in subscribe(farm.by).get().content.replace(b"\r\n ", b"")
    start, end = "2026-04-01", "2026-10-27"
    copied = asked(ada, start=start, end=end).content
    assert b"Shortened" not in copied.replace(b"\r\n ", b"")
    rows = table(asked(ada, "csv", start=start, end=end))
    assert len(rows) == copied.count(b"BEGIN:VEVENT")
    assert max(row["Day"] for row in rows) == end


def test_nothing_is_stored_for_a_copy(farm, ada):
    asked(ada), asked(ada, "csv"), asked(ada, "look")
    assert not CalendarBody.objects.exists()
    assert not EntryVersion.objects.exists()


def test_the_table_and_the_file_say_the_same(farm, ada):
    copied = icalendar.Calendar.from_ical(asked(ada).content).walk("VEVENT")
    rows = table(asked(ada, "csv"))
    assert sorted(row["Title"] for row in rows) == sorted(str(event["SUMMARY"]) for event in copied)


def test_one_batch_can_be_copied(farm, ada):
    farm.add_batch("Summer", housing="Brooder 2", age=2, birds=20)
    answer = asked(ada, "csv", scope="batch", batch_id=Batch.objects.get(name="Summer").pk)
    assert answer["Content-Disposition"] == 'attachment; filename="featherdays-hollow-farm-summer.csv"'
    places = {row["Place"] for row in table(answer)}
    assert "Brooder 2" in places
    assert "Brooder 1" not in places


def test_one_event_can_be_copied_from_what_was_looked_at(farm, ada):
    page = asked(ada, "look").content.decode()
    address = re.search(r'href="(/calendars/copy/\?[^"]*uid=[^"]+)"', page)[1].replace("&amp;", "&")
    answer = ada.get(address)
    assert problems(answer.content) == []
    assert answer.content.count(b"BEGIN:VEVENT") == 1
    assert "attachment" in answer["Content-Disposition"]


def test_an_event_that_is_not_in_it_is_not_found(farm, ada):
    assert asked(ada, uid="nobody@farm").status_code == 404


def test_the_page_asks_for_this_year_at_first(farm, ada):
    page = ada.get(COPY).content.decode()
    assert 'value="2026-01-01"' in page
    assert 'value="2026-12-31"' in page


@pytest.mark.parametrize(
    "field, days",
    [
        ("end", {"start": "2026-05-02", "end": "2026-05-01"}),
        ("end", {"start": "2026-01-01", "end": "2027-12-31"}),
        ("start", {"start": "2020-01-01", "end": "2020-02-01"}),
        ("start", {"start": "2031-01-01", "end": "2031-02-01"}),
        ("start", {"start": "soon", "end": "2026-05-01"}),
        ("scope", {"scope": "everything"}),
        ("housing_id", {"scope": "housing"}),
        ("batch_id", {"scope": "batch", "batch_id": "77"}),
    ],
)
def test_what_cannot_be_copied_is_said_at_its_field(farm, ada, field, days):
    answer = asked(ada, **days)
    assert answer["Content-Type"].startswith("text/html")
    assert list(answer.context["form"].errors) == [field]


def test_a_child_copies_their_own_whatever_is_asked(farm, client):
    kim = farm.add_member("Kim", "child")
    client.force_login(kim.login)
    for scope in ("farm", "housing", "orders", "outlook"):
        answer = asked(client, scope=scope, housing_id=farm.housing["Brooder 1"].pk)
        text = answer.content.decode().replace("\r\n ", "")
        assert "X-WR-CALNAME:Hollow Farm: Kim" in text
        assert "Check the heat" not in text


def test_another_farms_birds_are_in_no_copy(farm, ada, elsewhere):
    elsewhere.add_housing("Far Brooder")
    theirs = elsewhere.add_batch("Far", housing="Far Brooder")
    assert b"Far" not in asked(ada).content.replace(b"Hollow Farm", b"")
    assert list(asked(ada, scope="batch", batch_id=theirs.pk).context["form"].errors) == ["batch_id"]


def test_a_customers_name_that_is_a_formula_is_text_in_a_table(farm, ada):
    take(farm, customer='=HYPERLINK("http://x.example")')
    cells = [cell for row in table(asked(ada, "csv", scope="orders")) for cell in row.values()]
    assert any("HYPERLINK" in cell for cell in cells)
    assert not [cell for cell in cells if cell.startswith(tuple("=+-@"))]


def test_a_farm_named_in_another_script_still_has_a_plain_file_name(farm, ada):
    farm.farm.refresh_from_db()
    type(farm.farm).objects.filter(pk=farm.farm.pk).update(name='鶏 "x"\r\nSet-Cookie: a=b')
    name = asked(ada)["Content-Disposition"]
    assert re.fullmatch(r'attachment; filename="featherdays-[a-z0-9-]+\.ics"', name)


def test_a_stranger_is_sent_to_sign_in(client, db):
    assert client.get(COPY).url == "/login/?next=/calendars/copy/"


def test_copying_is_for_looking_only(farm, ada):
    assert ada.post(COPY).status_code == 405


def test_a_batchs_page_leads_to_its_copy_and_to_its_link_already_filled_in(farm, ada):
    batch = Batch.objects.get()
    page = ada.get(reverse("batch", args=[batch.pk])).content.decode()
    for path in (COPY, reverse("calendar-links")):
        address = re.search(rf'href="({path}\?scope=batch[^"#]+)', page)[1].replace("&amp;", "&")
        form = ada.get(address).context["form"]
        assert (form["scope"].value(), form["batch_id"].value()) == ("batch", str(batch.pk))
        assert not form.errors


def test_what_an_address_asks_for_beforehand_is_judged_like_anything_else(farm, ada, elsewhere):
    elsewhere.add_housing("Far Brooder")
    theirs = elsewhere.add_batch("Far", housing="Far Brooder")
    page = ada.get(COPY, {"scope": "x<b>", "batch_id": theirs.pk}).content.decode()
    assert "x<b>" not in page
    assert ">Far<" not in page
