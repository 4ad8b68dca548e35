"""The board's page: what it leads to, what it says in words, and who may see it."""

from __future__ import annotations

import re
from datetime import timedelta
from xml.etree import ElementTree

import pytest
import time_machine
from django.test import Client

from tests.conftest import NOON, TODAY, World


@pytest.fixture
def seen(client: Client, world: World):
    """Ask for a page as Ada of Hollow Farm, at noon on 1 May."""
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


def drawings(html: str) -> list[ElementTree.Element]:
    """Return every SVG of a page, parsed: what cannot be parsed is not shown."""
    return [ElementTree.fromstring(found) for found in re.findall(r"<svg.*?</svg>", html, re.DOTALL)]


def test_a_farm_without_housing_is_led_to_its_first_brooder(client: Client, elsewhere: World):
    client.force_login(elsewhere.keeper.login)

    html = client.get("/board/").content.decode()

    assert "Add your first brooder" in html
    assert 'href="/housing/new/"' in html
    assert 'href="/import/"' in html


def test_a_helper_of_an_empty_farm_is_not_sent_to_a_keepers_form(client: Client, elsewhere: World):
    client.force_login(elsewhere.add_member("Lina", "helper").login)

    html = client.get("/board/").content.decode()

    assert "A keeper of this farm adds the first brooder." in html
    assert "/housing/new/" not in html


def test_housing_without_birds_leads_to_the_first_batch(seen: Client, world: World):
    html = seen.get("/board/").content.decode()

    assert "Add your first batch" in html
    assert "Brooder 1" in html


def test_weeks_without_birds_lead_back_to_those_with(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")

    html = seen.get("/board/?from=2024-01-01&weeks=6").content.decode()

    assert "No birds are on the farm in these weeks." in html


def test_each_batch_and_housing_can_be_reached_from_its_row(seen: Client, world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")

    html = seen.get("/board/").content.decode()

    assert f'class="band" href="/batches/{batch.pk}/"' in html
    assert f'href="/housing/{world.housing["Brooder 1"].pk}/"' in html
    titles = [title.strip() for title in re.findall(r"<title>(.*?)</title>", html, re.DOTALL)]
    assert "Browns: 40 birds, 20 Apr – 12 Jul, 3 to 86 days old" in titles


def test_every_breach_has_a_mark_that_leads_to_its_sentence(seen: Client, world: World):
    world.add_batch("Browns", birds=60, housing="Brooder 1")

    html = seen.get("/board/").content.decode()

    marked = set(re.findall(r'class="mark" href="#(breach-\d+)"', html))
    told = set(re.findall(r'<li id="(breach-\d+)"', html))
    assert marked == told != set()
    assert re.search(r"Brooder 1 is \d\.\d m² short on .* birds too many", html)


def test_a_board_on_which_all_fits_says_so(seen: Client, world: World):
    world.add_batch("Browns", birds=5, housing="Brooder 1")

    html = seen.get("/board/").content.decode()

    assert "Everything fits in these weeks." in html
    assert "What does not fit" not in html


def test_drawings_are_well_formed_without_style_or_script(seen: Client, world: World):
    world.add_batch('Tom & "Jerry" <3', birds=60, housing="Brooder 1")

    html = seen.get("/board/").content.decode()

    assert len(drawings(html)) > 4
    assert " style=" not in html
    assert not re.search(r"<script(?![^>]*\bsrc=)", html)


def test_every_pattern_and_ramp_a_shape_asks_for_is_there_once(seen: Client, world: World):
    world.add_batch("Browns", birds=60, housing="Brooder 1")
    world.add_batch("Reds", birds=6)

    html = seen.get("/board/").content.decode()

    ids = re.findall(r'\bid="([^"]+)"', html)
    assert len(ids) == len(set(ids))
    assert set(re.findall(r"url\(#([^)]+)\)", html)) <= set(ids)


def test_the_table_says_the_same_in_words(seen: Client, world: World):
    world.add_batch("Browns", birds=60, housing="Brooder 1")

    html = seen.get("/board/").content.decode()

    assert '<th scope="row">Brooder 1</th>' in html
    assert re.search(r"60 birds, \d\.\d m² of 4\.0 m² on \w{3} \d+ \w{3}, too little", html)


def test_a_us_farm_reads_square_feet(seen: Client, world: World):
    world.farm.units = "us"
    world.farm.save()
    world.add_batch("Browns", birds=60, housing="Brooder 1")

    html = seen.get("/board/").content.decode()

    assert "43.1 ft² brooder" in html
    assert "m²" not in html


def test_the_links_of_the_window_keep_its_length(seen: Client, world: World):
    html = seen.get("/board/?from=2026-05-04&weeks=6").content.decode()

    assert "?from=2026-06-15&amp;weeks=6" in html
    assert "?from=2026-03-23&amp;weeks=6" in html
    assert re.search(r'weeks=6" aria-current="true"', html)


@pytest.mark.parametrize("query", ["from=abc&weeks=x", "from=0001-01-01", "weeks=99999999999", "from="])
def test_a_mistyped_window_shows_the_usual_one(seen: Client, query: str):
    assert seen.get(f"/board/?{query}").context["board"].choice.start == TODAY - timedelta(days=11)


def test_another_farms_birds_are_not_on_the_board(seen: Client, elsewhere: World):
    elsewhere.add_housing("Secret shed")
    elsewhere.add_batch("Secret birds", housing="Secret shed")

    assert "Secret" not in seen.get("/board/").content.decode()


def test_a_child_sees_the_board(client: Client, world: World):
    client.force_login(world.add_member("Emil", "child").login)

    assert client.get("/board/").status_code == 200


def test_a_stranger_is_asked_to_sign_in(client: Client, db: None):
    answer = client.get("/board/")

    assert (answer.status_code, answer["Location"].split("?")[0]) == (302, "/login/")


def test_the_number_of_queries_does_not_grow_with_the_batches(
    seen: Client, world: World, django_assert_max_num_queries
):
    for number in range(6):
        world.add_batch(f"Batch {number}", birds=3, housing="Brooder 1")

    with django_assert_max_num_queries(16):
        seen.get("/board/")
