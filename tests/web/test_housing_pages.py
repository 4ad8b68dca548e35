"""The list of housing, one housing's page and its card at the door."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from xml.etree import ElementTree

import pytest
import time_machine
from django.test import Client

from farm.models import Observation
from farm.planning.window import Window
from farm.queries import occupancy
from farm.services import members, observations, stays
from farm.web.housing import card, rooms
from tests.conftest import NOON, TODAY, World


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


def text(html: str) -> str:
    """Return what a page says, without its marks."""
    return " ".join(re.sub(r"<[^>]+>", " ", html).split())


def today_in(world: World, name: str) -> rooms.Today:
    sheet = occupancy.for_farm(world.farm, Window(TODAY, 100), TODAY)
    return rooms.on(sheet, str(world.housing[name].pk), TODAY)


def test_the_list_says_who_lives_where_and_how_full_it_is(seen: Client, world: World):
    world.add_batch("Browns", birds=40, housing="Brooder 1")

    said = text(seen.get("/housing/").content.decode())

    assert "40 birds, Browns , 2 weeks" in said
    assert re.search(r"Brooder 1 brooder, 4\.0 m², heated \d+ % of the floor: \d\.\d m² of 4\.0 m²", said)
    assert "Pen 1 pen, 12.0 m², no heat 0 %" in said
    assert "No birds today. Free now." in said


def test_an_empty_list_leads_to_the_first_brooder(client: Client, elsewhere: World):
    client.force_login(elsewhere.keeper.login)

    assert "Add your first brooder" in client.get("/housing/").content.decode()


def test_a_housing_is_free_when_it_is_empty_rested_and_in_use(world: World):
    world.add_batch("Browns", birds=4, housing="Brooder 1", housing_until=TODAY + timedelta(days=3))
    world.add_housing("Summer", in_service_from=TODAY + timedelta(days=9))
    world.add_batch("Reds", birds=4, housing="Brooder 2")

    assert today_in(world, "Brooder 1").free_from == TODAY + timedelta(days=3 + 14)
    assert today_in(world, "Summer").free_from == TODAY + timedelta(days=9)
    assert today_in(world, "Brooder 2").free_from is None
    assert today_in(world, "Pen 1").free_from == TODAY


def test_two_stays_of_one_batch_are_one_lodger(world: World):
    batch = world.add_batch("Browns", birds=40)
    for birds in (30, 10):
        stays.add(
            world.by,
            batch_id=batch.pk,
            housing_id=world.housing["Brooder 1"].pk,
            birds=birds,
            start=TODAY,
            end=None,
        )

    now = today_in(world, "Brooder 1")

    assert [(lodger.batch, lodger.birds) for lodger in now.lodgers] == [(batch, 40)]
    assert now.birds == 40


def test_young_birds_have_a_temperature_and_grown_ones_have_none(world: World):
    world.add_batch("Young", birds=4, age=1, housing="Brooder 1")
    world.add_batch("Old", birds=4, age=60, housing="Brooder 1")

    young, old = sorted(today_in(world, "Brooder 1").lodgers, key=lambda lodger: lodger.batch.name)[::-1]

    assert 25 < young.target_temp_c < 38
    assert young.lower_on > TODAY
    assert young.lower_to_c < young.target_temp_c
    assert (old.target_temp_c, old.lower_on) == (None, None)


def test_a_housing_shows_its_row_its_stays_and_what_was_seen(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=60, housing="Brooder 1")
    pk = world.housing["Brooder 1"].pk
    observations.add(world.by, kind="temperature", value=31.0, housing_id=pk, batch_id=batch.pk)
    observations.add(world.by, kind="behaviour", word="huddled", housing_id=pk)

    answer = seen.get(f"/housing/{pk}/")
    said = text(answer.content.decode())

    assert [row.housing.pk for row in answer.context["board"].rows] == [pk]
    assert re.search(r"Browns \(going on\) 60 \S+ \S+ 2026 further notice Change", said)
    assert "31.0 °C" in said
    assert "Piled under the heat" in said
    assert "too little" not in said  # feeder and drinker edges were not measured
    assert "not measured here" in said


def test_stays_are_told_apart_by_their_days(world: World):
    batch = world.add_batch("Browns", housing="Brooder 1", housing_until=TODAY)
    pk = world.housing["Brooder 1"].pk
    for start, end in ((0, 5), (5, 9)):
        stays.add(
            world.by,
            batch_id=batch.pk,
            housing_id=pk,
            birds=40,
            start=TODAY + timedelta(days=start),
            end=TODAY + timedelta(days=end),
        )
    sheet = occupancy.for_farm(world.farm, Window(TODAY, 30), TODAY)

    over, going, planned = rooms.stays_of(sheet, str(pk), TODAY)

    assert [[stay.start for stay in found] for found in (over, going, planned)] == [
        [TODAY - timedelta(days=14)],
        [TODAY],
        [TODAY + timedelta(days=5)],
    ]


def test_ids_on_a_housings_page_are_used_once(seen: Client, world: World):
    world.add_batch("Browns", birds=60, housing="Brooder 1")

    html = seen.get(f"/housing/{world.housing['Brooder 1'].pk}/").content.decode()

    ids = re.findall(r'\bid="([^"]+)"', html)
    assert len(ids) == len(set(ids))
    assert " style=" not in html


def test_another_farms_housing_is_not_found(seen: Client, elsewhere: World):
    theirs = elsewhere.add_housing("Secret shed")

    for path in ("", "edit/", "remove/", "card/"):
        answer = seen.get(f"/housing/{theirs.pk}/{path}")
        assert answer.status_code == 404
        assert "Secret" not in answer.content.decode()
    assert seen.get(f"/h/{theirs.code}/").status_code == 404
    assert seen.post(f"/housing/{theirs.pk}/observe/", {"kind": "note", "note": "x"}).status_code == 404
    assert Observation.objects.count() == 0


def test_the_card_opens_the_housing_with_quick_links(seen: Client, world: World):
    batch = world.add_batch("Browns", birds=12, housing="Brooder 1")
    brooder = world.housing["Brooder 1"]

    html = seen.get(f"/h/{brooder.code}/").content.decode()

    assert f'href="/#housing-{brooder.pk}"' in html
    assert f'href="/batches/{batch.pk}/move/"' in html
    assert html.count(f'action="/housing/{brooder.pk}/observe/"') == 3
    assert "12 birds" in html


def test_a_scanned_card_asks_a_stranger_to_sign_in_and_remembers_where(client: Client, world: World):
    code = world.housing["Brooder 1"].code

    answer = client.get(f"/h/{code}/")

    assert (answer.status_code, answer["Location"]) == (302, f"/login/?next=/h/{code}/")


def test_a_card_of_ones_other_farm_switches_to_it(seen: Client, world: World, elsewhere: World):
    shed = elsewhere.add_housing("Shed")
    mine = members.add(elsewhere.by, name="Ada of the hill", role="helper")
    mine.login = world.keeper.login
    mine.save()
    seen.get("/housing/")

    answer = seen.get(f"/h/{shed.code}/", follow=True)

    assert answer.status_code == 200
    assert answer.context["farm"] == elsewhere.farm


def test_an_unknown_card_is_not_found(seen: Client):
    assert seen.get("/h/nonsense12/").status_code == 404


def test_the_printed_card_carries_its_address_as_a_code(seen: Client, world: World, settings):
    settings.ADDRESS = "https://farm.example"
    brooder = world.housing["Brooder 1"]

    html = seen.get(f"/housing/{brooder.pk}/card/").content.decode()

    address = f"https://farm.example/h/{brooder.code}/"
    assert f'<p class="address">{address}</p>' in html
    assert card.qr_svg(address) in html
    assert "Heat lamps start fires" in html


def test_an_unheated_housings_card_has_no_word_of_lamps(seen: Client, world: World):
    html = seen.get(f"/housing/{world.housing['Pen 1'].pk}/card/").content.decode()

    assert "lamp" not in html.lower()


def test_the_code_is_a_plain_drawing_that_differs_by_address():
    one, other = card.qr_svg("https://farm.example/h/a/"), card.qr_svg("https://farm.example/h/b/")

    assert one != other
    assert ElementTree.fromstring(one).tag.endswith("svg")
    assert "style" not in one
    assert "script" not in one
