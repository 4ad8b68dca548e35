"""The page of a day: empty beginnings, the day's work and its reasons, other days, cards, the sheet of paper."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
import time_machine
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models.member import Role
from farm.services import chores, stays
from tests.conftest import NOON, TODAY
from tests.web.today_world import all_lines, day, line_of, look, sign_in, text_of


@pytest.fixture
def keeper(world, client):
    return sign_in(client, world.by)


def test_a_new_farm_is_led_to_its_first_brooder_or_to_an_import(elsewhere, client):
    answer = look(sign_in(client, elsewhere.by))
    body = answer.content.decode()
    assert answer.status_code == 200
    assert 'href="/housing/new/"' in body
    assert "Add your first brooder" in body
    assert 'href="/import/"' in body


def test_with_housing_and_no_birds_it_leads_to_the_first_batch(keeper):
    body = look(keeper).content.decode()
    assert 'href="/batches/new/"' in body
    assert "Add your first brooder" not in body


def test_a_helper_is_told_who_begins_instead_of_being_sent_to_a_closed_page(world, client):
    text = text_of(look(sign_in(client, world.add_member("Hal", Role.HELPER))))
    assert "A keeper of this farm adds the first batch." in text
    assert "Add your first batch" not in text


def test_who_is_not_signed_in_is_asked_to(client, db):
    assert client.get("/").url.startswith("/login/")


def test_a_line_says_minutes_who_why_and_the_source_with_its_year(world, keeper):
    world.add_batch("Spring", age=14, housing="Brooder 1")
    answer = look(keeper)
    line = line_of(answer, "Brooder 1: 32 → 29 °C")
    text = text_of(answer)
    assert f"{line.minutes} min, adults only" in text
    assert "Penn State Extension, Poultry Cannibalism: Prevention and Treatment (2023)" in text
    assert "Read the thermometer at back height" in text


def test_heat_work_carries_the_caution_about_fire(world, keeper):
    world.add_batch("Spring", age=14, housing="Brooder 1")
    answer = look(keeper)
    warned = {caution.key for caution in line_of(answer, "Brooder 1: Check the heat", "morning").cautions}
    assert {"heat_lamp", "cord"} <= warned
    assert "follow your local code, the product label and your vet." in text_of(answer)


def test_titles_and_temperatures_follow_the_farms_units(world, keeper):
    world.farm.units = "us"
    world.farm.save()
    world.add_batch("Spring", age=14, housing="Brooder 1")
    answer = look(keeper)
    assert line_of(answer, "Brooder 1: 90 → 85 °F").due == TODAY
    assert "85 °F" in text_of(answer)


def test_the_calendars_day_is_shown_when_asked_for(world, keeper):
    world.add_batch("Spring", age=13, housing="Brooder 1")
    answer = look(keeper, day=day(1))
    assert answer.context["day"] == TODAY + timedelta(days=1)
    assert line_of(answer, "Brooder 1: 32 → 29 °C").due == TODAY + timedelta(days=1)


@pytest.mark.parametrize("asked", ["", "tomorrow", "2026-02-31", "0001-01-01", "9999-12-31", "1" * 400])
def test_a_day_that_cannot_be_shown_is_today(keeper, asked):
    answer = look(keeper, day=asked)
    assert (answer.status_code, answer.context["day"]) == (200, TODAY)


def test_the_neighbouring_days_are_one_tap_away(world, keeper):
    body = look(keeper, day=day(10)).content.decode()
    for other in (day(9), day(11)):
        assert f'href="/?day={other}"' in body


def test_another_farms_work_and_marks_are_not_shown(world, elsewhere, keeper):
    elsewhere.add_housing("Zebra barn")
    elsewhere.add_batch("Zebra chicks", age=3, housing="Zebra barn")
    chores.mark(elsewhere.by, source="room:1/look", due=TODAY, round="morning", title="Zebra look")
    world.add_batch("Spring", age=3, housing="Brooder 1")
    text = text_of(look(keeper))
    assert "Spring" in text
    assert "Zebra" not in text


def test_a_child_reads_its_own_work_first_and_who_does_the_rest(world, client):
    world.add_batch("Spring", age=3, housing="Brooder 1")
    world.add_member("Hal", Role.HELPER)
    answer = look(sign_in(client, world.add_member("Kim", Role.CHILD)))
    text = text_of(answer)
    assert text.index("You can help, beside an adult") < text.index("Feed and water")
    assert "For Ada, Hal" in text
    heat = line_of(answer, "Brooder 1: Check the heat", "morning")
    assert not heat.may
    assert f'id="tick-{heat.key}"' not in answer.content.decode()


def test_when_all_is_ticked_the_page_says_so(world, keeper):
    world.add_batch("Old", age=200, housing="Pen 1", arrived_on=TODAY - timedelta(days=9))
    for line in all_lines(look(keeper)):
        chores.mark(world.by, source=line.source, due=line.due, round=line.round, title=line.title)
    assert "All done for the day." in text_of(look(keeper))


def test_every_id_of_the_page_is_given_once(world, keeper):
    world.add_batch("Spring", age=8, housing="Brooder 1")
    world.add_batch("Late", age=3, housing="Brooder 2")
    ids = re.findall(r'\bid="([^"]+)"', look(keeper).content.decode())
    assert len(ids) == len(set(ids))


def test_it_asks_the_database_the_same_whatever_the_number_of_batches(world, keeper):
    world.add_batch("B0", age=3, housing="Brooder 1")
    look(keeper)
    with CaptureQueriesContext(connection) as few:
        look(keeper)
    for number in range(1, 6):
        world.add_housing(f"Pen {number + 1}", kind="pen", area_m2=9.0)
        world.add_batch(f"B{number}", age=10 * number, housing=f"Pen {number + 1}")
    with CaptureQueriesContext(connection) as many:
        look(keeper)
    assert len(many) == len(few)
    assert len(many) <= 25


def test_a_card_says_who_lives_there_how_warm_and_how_full(world, keeper):
    world.add_batch("Spring", birds=40, age=15, housing="Brooder 1")
    answer = look(keeper)
    (card,) = answer.context["housing"].cards
    assert (card.room.birds, card.room.housing.name) == (40, "Brooder 1")
    assert card.warm.lower_on == TODAY + timedelta(days=6)
    text = text_of(answer)
    assert "40 birds, Spring , 2 weeks 1 day" in text
    assert "29 °C at back height now, 27 °C from 7 May" in text


def test_a_card_warns_of_birds_that_need_heat_in_a_place_without(world, keeper):
    batch = world.add_batch("Spring", age=3)
    stays.add(
        world.by,
        batch_id=batch.pk,
        housing_id=world.housing["Pen 1"].pk,
        birds=40,
        start=TODAY,
        end=None,
        override_reason="brooder is broken",
    )
    assert "These birds need heat, and this housing has none." in text_of(look(keeper))


def test_a_short_feeder_is_said_with_both_lengths(world, keeper):
    world.add_housing("Brooder 9", feeder_cm=20.0)
    world.add_batch("Spring", birds=40, age=15, housing="Brooder 9")
    (card,) = (one for one in look(keeper).context["housing"].cards)
    assert card.room.feeder_cm.short
    assert f"Feeder edge: {card.room.feeder_cm.asked:.0f} cm needed, 20 cm there" in text_of(look(keeper))


def test_what_will_not_fit_is_said_on_its_card_even_while_the_housing_is_empty(world, keeper):
    world.add_batch("Spring", birds=10, age=20, housing="Brooder 1")
    world.add_batch("Coming", birds=60, age=-10, housing="Brooder 2", arrived_on=TODAY + timedelta(days=10))
    found = {card.room.housing.name: card for card in look(keeper).context["housing"].cards}
    assert not found["Brooder 2"].room.lodgers
    assert str(found["Brooder 2"].breaches[0]).startswith("Brooder 2 is")


def test_birds_without_a_place_are_told_of_with_the_way_to_give_them_one(world, keeper):
    batch = world.add_batch("Spring", age=3)
    body = look(keeper).content.decode()
    assert f'href="/batches/{batch.pk}/stays/new/"' in body


def test_the_day_sheet_has_an_empty_box_for_every_line_and_names_them(world, keeper):
    world.add_batch("Spring", age=8, housing="Brooder 1")
    with time_machine.travel(NOON, tick=False):
        answer = keeper.get("/day-sheet/", {"day": day(0)})
    body = answer.content.decode()
    lines = all_lines(answer)
    assert body.count('class="square"') == len(lines) > 8
    assert all(line.title in body for line in lines)
    assert "✓" not in body
