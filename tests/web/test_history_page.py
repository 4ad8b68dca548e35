"""Reading the history: who, when, from where, what in which field; filters, pages, and other farms kept out."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import HistoryEntry
from farm.services import batches, chores, counts, housings, members, observations
from tests.conftest import NOON, TODAY, actor


@pytest.fixture
def signed_in(world, client):
    """The keeper's browser on the world's own day."""
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


def fields(answer, summary):
    row = next(row for row in answer.context["rows"] if row.entry.summary == summary)
    return {line.label: (line.before, line.after) for thing in row.things for line in thing.fields}


def summaries(answer):
    return [row.entry.summary for row in answer.context["rows"]]


def tick(world, number=0):
    chores.mark(world.by, source=f"room:{number}/look", due=TODAY, round="morning", title=f"Look {number}")


def test_the_newest_change_comes_first_with_who_when_and_where(signed_in, world):
    answer = signed_in.get("/history/")
    assert summaries(answer)[0] == "Housing Pen 1 added"
    text = answer.content.decode()
    assert "Ada," in text
    assert "1 May 2026, 12:00" in text


def test_what_did_not_come_from_a_page_says_where_it_came_from(signed_in, world):
    housings.add(replace(world.by, face="job", member=None, login=None), name="Loft", area_m2=3.0)
    page = " ".join(signed_in.get("/history/").content.decode().split())
    assert 'Featherdays, <time datetime="2026-05-01T12:00:00+02:00">' in page
    assert page.count("from the job") == 1


def test_a_changed_field_says_before_and_after_in_the_farms_units(signed_in, world):
    pen = world.housing["Pen 1"]
    housings.change(world.by, housing_id=pen.pk, expected_version=None, area_m2=13.5, heated=True)
    found = fields(signed_in.get("/history/"), "Housing Pen 1 changed")
    assert found == {"floor area": ("12.00 m²", "13.50 m²"), "has heat": ("no", "yes")}


def test_a_us_farm_reads_its_history_in_square_feet(signed_in, world):
    world.farm.units = "us"
    world.farm.save()
    assert fields(signed_in.get("/history/"), "Housing Pen 1 added")["floor area"] == ("", "129.17 ft²")


def test_links_are_named_and_choices_and_days_are_said_in_words(signed_in, world):
    world.add_batch("Spring", housing="Brooder 1")
    row = signed_in.get("/history/").context["rows"][0]
    kinds = [thing.kind for thing in row.things]
    assert kinds == ["batch", "count entry", "stay"]
    batch, entry, stay = ({line.label: line.after for line in thing.fields} for thing in row.things)
    assert batch["hatch day"] == "17 April 2026"
    assert batch["programme version"] == "Brown layer chicken v1"
    assert (batch["species"], batch["type"]) == ("chicken", "layer")
    assert (entry["what happened"], entry["birds"], entry["batch"]) == ("arrived", "40", "Spring")
    assert stay["housing"] == "Brooder 1"


def test_a_reading_carries_its_unit(signed_in, world):
    observations.add(world.by, housing_id=world.housing["Brooder 1"].pk, kind="temperature", value=31.5)
    found = signed_in.get("/history/").context["rows"][0].things[0]
    assert {line.label: line.after for line in found.fields}["value"] == "31.5 °C"


def test_ticks_are_folded_away_until_asked_for(signed_in, world):
    tick(world)
    assert "Look 0: done" not in summaries(signed_in.get("/history/"))
    assert "Look 0: done" in summaries(signed_in.get("/history/?ticks=on"))
    assert summaries(signed_in.get("/history/?about=choremark")) == ["Look 0: done"]


def test_the_history_of_one_kind_of_thing(signed_in, world):
    world.add_batch("Spring", housing="Brooder 1")
    assert len(summaries(signed_in.get("/history/?about=batch"))) == 1
    assert all("Housing" in text for text in summaries(signed_in.get("/history/?about=housing")))


def test_the_history_of_one_member(signed_in, world):
    cleo = world.add_member("Cleo", "helper")
    batch = world.add_batch("Spring", housing="Brooder 1")
    counts.add(cleo, batch_id=batch.pk, kind="died", birds=1, day=TODAY)
    assert summaries(signed_in.get(f"/history/?who={cleo.member.pk}")) == ["Spring: 1 bird died"]


@pytest.mark.parametrize("query", ["about=cats", "who=x", "who=999999", "page=x", "page=999", "ticks=maybe"])
def test_an_address_that_means_nothing_still_shows_the_history(signed_in, world, query):
    assert signed_in.get(f"/history/?{query}").status_code == 200


def test_it_is_paged_and_keeps_the_filter(signed_in, world):
    for number in range(35):
        tick(world, number)
    first = signed_in.get("/history/?about=choremark")
    assert len(first.context["rows"]) == 30
    assert "?about=choremark&amp;page=2" in first.content.decode()
    assert len(signed_in.get("/history/?about=choremark&page=2").context["rows"]) == 5


def test_more_entries_do_not_ask_the_database_more_often(signed_in, world, django_assert_num_queries):
    world.add_batch("Spring 0", housing="Brooder 1", birds=5)
    with CaptureQueriesContext(
        connection,
    ) as few:
        signed_in.get("/history/")
    for number in range(1, 12):
        world.add_batch(f"Spring {number}", housing="Brooder 1", birds=5)
    with django_assert_num_queries(len(few)):
        signed_in.get("/history/")


def test_another_farms_history_is_not_shown_nor_found(signed_in, world, elsewhere):
    elsewhere.add_housing("Far brooder")
    far = HistoryEntry.objects.filter(farm=elsewhere.farm).first()
    before = HistoryEntry.objects.count()
    assert "Far brooder" not in signed_in.get("/history/").content.decode()
    assert signed_in.get(f"/history/{far.pk}/").status_code == 404
    assert signed_in.post(f"/history/{far.pk}/undo/").status_code == 404
    assert HistoryEntry.objects.count() == before


def test_a_thing_that_is_gone_is_named_so(signed_in, world):
    batch = world.add_batch("Spring", housing="Brooder 1")
    batches.change(world.by, batch_id=batch.pk, expected_version=None, leaves_on=date(2026, 7, 1))
    housings.remove(world.by, housing_id=world.housing["Pen 1"].pk)
    row = signed_in.get("/history/").context["rows"][0]
    assert (row.things[0].did, row.things[0].name, row.page) == ("removed", "Pen 1", "")


def test_a_secret_of_an_invitation_is_never_shown(signed_in, world):
    cleo = world.add_member("Cleo", "helper", login=False)
    members.invite(world.by, member_id=cleo.member.pk)
    row = signed_in.get("/history/").context["rows"][0]
    assert "token_sha256" not in str([line.label for thing in row.things for line in thing.fields])
    assert all(len(line.after) < 60 for thing in row.things for line in thing.fields)


def test_days_are_the_farms_own(signed_in, world):
    late = actor(world.farm, world.keeper, NOON + timedelta(hours=12, minutes=30))
    housings.add(late, name="Loft", area_m2=3.0)
    assert "<h2>2 May 2026</h2>" in signed_in.get("/history/").content.decode()
