"""The plan's page: one question before an order, and a year of days with what still fits."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from farm.models import Plan
from farm.services import headroom
from tests.conftest import NOON, TODAY, World
from tests.web.plan_pages import words


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    cache.clear()
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


def ask(seen: Client, birds: str = "", day: str = "2026-05-01", type_: str = "chicken_layer_brown") -> Any:
    return seen.get("/plan/", {"type": type_, "day": day, "birds": birds})


def test_a_farm_without_housing_is_led_to_its_first_brooder(client: Client, elsewhere: World):
    client.force_login(elsewhere.keeper.login)

    answer = client.get("/plan/")

    assert "Add your first brooder" in answer.content.decode()
    assert "Do they fit?" not in answer.content.decode()


def test_a_farm_without_batches_can_ask_about_any_type(seen: Client):
    answer = ask(seen, "10", type_="quail_layer")

    assert "Yes, 10 birds fit" in words(answer)
    assert "Once you have a batch" in words(answer)


def test_the_answer_without_a_number_is_exactly_the_most_that_fit(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")
    most = ask(seen).context["answer"].cell.birds

    assert most > 0
    assert ask(seen, str(most)).context["answer"].fits is True
    assert ask(seen, str(most + 1)).context["answer"].fits is False


def test_what_does_not_fit_is_said_with_housing_day_and_birds(seen: Client):
    answer = ask(seen, "300")

    text = words(answer)
    assert "No, 300 birds do not fit" in text
    assert re.search(
        r"Pen 1 is [\d.]+ m² short on \d+ \w+, when the Brown layer chicken .+: \d+ birds too many", text
    )
    assert "would fit with nobody else moved" in text


def test_a_year_is_shown_a_day_a_cell_and_every_cell_names_what_binds(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")

    html = seen.get("/plan/").content.decode()

    days = re.findall(r"day=(\d{4}-\d\d-\d\d)#ask", html)
    assert days == [(TODAY + timedelta(days=offset)).isoformat() for offset in range(365)]
    assert len(re.findall(r'class="binds">[^<]*(?:Brooder 1|Brooder 2|Pen 1), \d+ \w+<', html)) == 365


def test_a_cell_says_the_same_as_the_question_it_leads_to(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")
    year = seen.get("/plan/").context["year"]
    cell = next(
        cell for week in year.weeks for cell in week.cells if cell and cell.arrival == date(2026, 6, 20)
    )

    assert ask(seen, day="2026-06-20").context["answer"].cell.birds == cell.birds


def test_the_stored_table_says_the_same_as_the_page_works_out_itself(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")
    world.farm.refresh_from_db()
    alone = seen.get("/plan/").context["year"]
    headroom.refresh(farm_id=world.farm.pk, now=NOON)

    stored = seen.get("/plan/").context["year"]

    assert stored.weeks == alone.weeks
    assert (alone.of, stored.of) == (0, 26)


def test_days_planned_anew_are_counted_as_they_come(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")
    headroom.refresh(farm_id=world.farm.pk, now=NOON)
    assert "worked out for 0 of 26 days" in words(seen.get("/plan/"))

    headroom.refine(farm_id=world.farm.pk, now=lambda: NOON, cells=1)

    assert "worked out for 1 of 26 days" in words(seen.get("/plan/"))


def test_the_calendar_polls_for_itself_alone(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")

    part = seen.get("/plan/", headers={"HX-Request": "true", "HX-Target": "calendar"}).content.decode()

    assert part.lstrip().startswith('<section id="calendar"')
    assert "<html" not in part


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"birds": "0"}, "birds"),
        ({"birds": "many"}, "birds"),
        ({"day": "2026-04-30"}, "day"),
        ({"day": "2027-05-01"}, "day"),
        ({"day": "tomorrow"}, "day"),
        ({"type": "dodo"}, "type"),
    ],
)
def test_a_mistaken_question_is_told_at_its_field(seen: Client, fields: dict[str, str], field: str):
    asked = {"type": "chicken_layer_brown", "day": "2026-05-02", "birds": "7"} | fields

    answer = seen.get("/plan/", asked)

    assert list(answer.context["ask"].errors) == [field]
    assert answer.context["answer"] is None
    assert seen.get("/plan/ways/", asked).context["found"] is None


def test_ways_out_of_a_question_are_tried_with_the_batch_itself(seen: Client):
    found = seen.get("/plan/ways/", {"type": "chicken_layer_brown", "day": "2026-05-01", "birds": "120"})
    offer = found.context["found"].offers[0]

    answer = seen.post("/plan/try/", {"changes": offer.sealed})

    plan = Plan.objects.get()
    assert answer["Location"] == f"/plan/{plan.code}/"
    assert plan.changes[0]["kind"] == "add_batch"
    assert len(plan.changes) > 1


def test_ways_after_which_all_fits_come_first(seen: Client, world: World):
    world.add_batch("Crowd", birds=80, housing="Brooder 1")
    found = seen.get("/plan/ways/", {"type": "chicken_layer_brown", "day": "2026-05-20", "birds": "60"})

    left = [bool(offer.left) for offer in found.context["found"].offers]

    assert left == sorted(left)
    assert left[0] is False


def test_an_offer_nobody_made_is_not_taken(seen: Client):
    answer = seen.post("/plan/try/", {"changes": "W3t9XQ:forged"}, follow=True)

    assert "That offer is no longer known" in answer.content.decode()
    assert Plan.objects.count() == 0


def test_an_offer_of_another_farm_is_not_taken(seen: Client, elsewhere: World):
    elsewhere.add_housing("Shed")
    theirs = Client()
    theirs.force_login(elsewhere.keeper.login)
    sealed = ask(theirs, "10").context["sealed"]

    answer = seen.post("/plan/try/", {"changes": sealed}, follow=True)

    assert "That offer is no longer known" in answer.content.decode()
    assert Plan.objects.count() == 0


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_plan(client: Client, world: World, role: str):
    client.force_login(world.add_member("Lina", role).login)

    assert client.get("/plan/").status_code == 403
    assert client.post("/plan/anew/").status_code == 403
    assert Plan.objects.count() == 0


def test_planning_anew_asks_for_a_plan_of_the_farm_as_it_is(seen: Client, world: World):
    world.add_batch("Browns", housing="Brooder 1")

    answer = seen.post("/plan/anew/")

    plan = Plan.objects.get()
    assert (plan.kind, plan.changes, plan.automatic) == ("proposal", [], False)
    assert answer["Location"] == f"/plan/{plan.code}/"
