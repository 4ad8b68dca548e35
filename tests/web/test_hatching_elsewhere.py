"""Eggs on the pages that are about birds: today, the list of batches, a batch still in its eggs, the history."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from farm.models import CountEntry, HistoryEntry
from farm.queries import batches as read
from farm.services import hatches
from farm.web.batches import life
from tests.conftest import NOON, TODAY, World
from tests.web.hatching_world import cabinet, chicks_from, day, put_in, said, sign_in
from tests.web.today_world import all_lines, look, send


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    """Ask for pages as Ada of Hollow Farm, at noon on 1 May."""
    with time_machine.travel(NOON, tick=False):
        yield sign_in(client, world.by)


def test_a_machines_chores_stand_under_its_name_which_leads_to_hatching(seen: Client, world: World):
    machine = cabinet(world, turns_itself=False)
    put_in(world, machine, 40, set_on=day(-4))

    answer = look(seen)

    groups = [group for one in answer.context["work"].rounds for group in one.groups if group.machine]
    assert {group.place for group in groups} == {"Cabinet 1"}
    assert {group.key for group in groups} == {
        f"{one}-machine-{machine.pk}" for one in ("morning", "midday", "evening")
    }
    page = answer.content.decode()
    assert '<h3><a href="/hatching/">Cabinet 1</a></h3>' in page
    assert "Turn the eggs" in page
    assert ">Check for 37.8" in page


def test_no_name_in_the_page_of_today_breaks_a_selector(seen: Client, world: World):
    put_in(world, cabinet(world), 40, set_on=day(-7))

    answer = look(seen)

    keys = {line.key for line in all_lines(answer)}
    keys |= {group.key for one in answer.context["work"].rounds for group in one.groups}
    assert all(key.replace("-", "").isalnum() and key.isascii() for key in keys)


def test_a_machines_chores_are_ticked_together(seen: Client, world: World):
    machine = cabinet(world)
    put_in(world, machine, 40, set_on=day(-4))

    answer = send(
        seen, "/today/mark-rest/", htmx=True, day=TODAY.isoformat(), group=f"morning-machine-{machine.pk}"
    )

    assert answer.status_code == 200
    left = [line for line in all_lines(look(seen)) if line.due == TODAY and line.mark is None]
    rounds = {line.round for line in left if line.item.room == f"machine:{machine.pk}"}
    assert rounds == {"evening"}


@pytest.mark.parametrize(
    ("set_on", "address", "text"),
    [(-7, "candle", "Write down what you saw"), (-20, "hatch", "Record the hatch")],
)
def test_a_step_of_eggs_leads_to_where_it_is_written_down(
    seen: Client, world: World, set_on: int, address: str, text: str
):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(set_on))

    page = look(seen).content.decode()

    assert f'<a href="/hatching/{egg_set.pk}/{address}/">{text}' in page


def test_a_child_ticks_nothing_that_has_to_be_written_down(client: Client, world: World):
    put_in(world, cabinet(world), 40, set_on=day(-20))
    sign_in(client, world.add_member("Emil", "child"))

    assert "/hatch/" not in look(client).content.decode()


def test_a_batch_in_its_eggs_says_when_it_hatches_and_leads_to_its_set(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40)

    listed = seen.get("/batches/?show=expected")
    page = seen.get(f"/batches/{egg_set.batch_id}/")

    for answer in (listed, page):
        assert "28 birds expected, hatch on 22 May 2026" in said(answer)
        assert f'href="/hatching/{egg_set.pk}/"' in answer.content.decode()
    assert "Add a count" not in said(page)
    assert "Take back" not in said(page)
    assert "Write what happened" not in said(page)


def test_chicks_on_their_way_say_when_they_arrive_and_lead_to_their_arrival(seen: Client, world: World):
    intake = chicks_from(world, 50)

    page = seen.get(f"/batches/{intake.batch_id}/")

    assert "birds expected, arrive on 11 May 2026" in said(page)
    assert "Go to their arrival" in said(page)
    assert f'href="/hatching/intakes/{intake.pk}/"' in page.content.decode()


def test_birds_that_are_not_here_are_not_counted(seen: Client, world: World):
    batch = put_in(world, cabinet(world), 40).batch
    before = CountEntry.objects.count()

    form = seen.get(f"/batches/{batch.pk}/count/", follow=True)
    typed = {"kind": "died", "birds": "1", "day": TODAY.isoformat()}
    posted = seen.post(f"/batches/{batch.pk}/count/", typed)

    assert "is not here yet" in said(form)
    assert posted.status_code == 200
    assert posted.context["form"].errors
    assert CountEntry.objects.count() == before


def test_once_hatched_the_batch_is_counted_and_still_names_its_eggs(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-21))
    hatches.record(world.by, egg_set_id=egg_set.pk, day=TODAY, hatched=30, expected_version=egg_set.version)

    page = said(seen.get(f"/batches/{egg_set.batch_id}/"))

    assert "Add a count" in page
    assert "own hatch ( egg set E1 )" in page


def test_the_life_line_begins_with_the_eggs_and_with_the_hatch_once_it_is_over(world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-21))
    coming = life.draw(read.whole(world.farm, egg_set.batch_id), TODAY)
    hatches.record(world.by, egg_set_id=egg_set.pk, day=TODAY, hatched=30, expected_version=egg_set.version)
    here = life.draw(read.whole(world.farm, egg_set.batch_id), TODAY)

    a_day = coming.hatch_x / 21
    assert coming.weeks[0] == (coming.hatch_x, 0)
    assert coming.days[0].day == day(-21)
    assert coming.today_x == pytest.approx(21.5 * a_day, abs=0.02)
    assert min(x for _stage, x, _width in coming.pieces) == coming.hatch_x
    assert here.hatch_x == 0
    assert here.weeks[0] == (0.0, 0)


def test_the_marks_of_the_eggs_stand_at_their_own_days(world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-3))

    drawn = life.draw(read.whole(world.farm, egg_set.batch_id), TODAY)

    a_day = drawn.hatch_x / 21
    candled = next(mark for mark in drawn.days if mark.day == day(-3) + timedelta(days=7))
    assert candled.x == pytest.approx(7.5 * a_day, abs=0.02)


def test_the_history_leads_to_the_egg_set_it_is_about(seen: Client, world: World):
    egg_set = put_in(world, cabinet(world), 40)
    entry = HistoryEntry.objects.filter(noun="eggset").get()

    page = seen.get(f"/history/?about=eggset&id={egg_set.pk}").content.decode()

    assert f'href="/hatching/{egg_set.pk}/"' in page
    assert f"/history/{entry.pk}/" in page
