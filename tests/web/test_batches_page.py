"""The page of one batch: life line, ledger, losses, weights, stays, observations, and what is offered."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
import time_machine
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext

from farm.models import Batch, Farm
from farm.models.member import Role
from farm.services import chores, counts, observations, stays
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day
from tests.web.batches_world import text


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks, 16 days old, in Brooder 1 until day 40."""
    return world.add_batch("Browns", age=16, housing="Brooder 1", housing_until=day(24))


def test_the_head_says_how_many_how_old_where_and_what_next(seen: Client, world: World, browns: Batch):
    page = text(seen.get(f"/batches/{browns.pk}/"))

    assert '<span class="figure">40</span> birds alive, <strong>2 weeks 2 days</strong>' in page
    assert "15 April 2026, bought in" in page
    assert "<dt>Next</dt>" in page
    assert "Brown layer chicken" in page
    assert f'<a href="/settings/programmes/batch/{browns.pk}/">' in page


def test_steps_to_come_and_behind_are_marked_on_the_line_and_listed(
    seen: Client, world: World, browns: Batch
):
    life = seen.get(f"/batches/{browns.pk}/").context["life"]
    page = text(seen.get(f"/batches/{browns.pk}/"))

    assert life.coming
    assert life.past
    for mark in life.days:
        assert f'href="#step-{mark.number}"' in page
        assert f'<li id="step-{mark.number}" value="{mark.number}">' in page


def test_a_ticked_step_is_shown_as_done(seen: Client, world: World, browns: Batch):
    step = next(
        step
        for mark in seen.get(f"/batches/{browns.pk}/").context["life"].past
        for step in mark.steps
        if step.state == "passed"
    ).due.item
    chores.mark(world.by, source=step.source, due=step.due, round=step.round, title="Done")

    page = seen.get(f"/batches/{browns.pk}/")

    states = {s.due.item.occurrence: s.state for mark in page.context["life"].days for s in mark.steps}
    assert states[step.occurrence] == "done"
    assert "(done)" in text(page)


def test_the_ledger_runs_from_the_newest_line_with_what_was_alive_after_it(
    seen: Client, world: World, browns: Batch
):
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=2, day=day(-3), note="weak")
    sold = counts.add(world.by, batch_id=browns.pk, kind="sold", birds=5, day=TODAY)
    counts.reverse(world.by, entry_id=sold.pk)

    lines = seen.get(f"/batches/{browns.pk}/").context["ledger"]

    assert [(one.entry.kind, one.entry.birds, one.alive, one.struck) for one in lines] == [
        ("reversed", 5, 38, True),
        ("sold", -5, 33, True),
        ("died", -2, 38, False),
        ("arrived", 40, 40, False),
    ]


def test_only_lines_that_count_are_offered_to_be_taken_back(seen: Client, world: World, browns: Batch):
    died = counts.add(world.by, batch_id=browns.pk, kind="died", birds=2, day=TODAY)
    sold = counts.add(world.by, batch_id=browns.pk, kind="sold", birds=5, day=TODAY)
    counts.reverse(world.by, entry_id=sold.pk)

    page = text(seen.get(f"/batches/{browns.pk}/"))

    assert f'href="/counts/{died.pk}/reverse/"' in page
    assert f'href="/counts/{sold.pk}/reverse/"' not in page


def test_losses_stand_against_what_is_ordinary_in_drawing_and_table(
    seen: Client, world: World, browns: Batch
):
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=2, day=day(-3))

    answer = seen.get(f"/batches/{browns.pk}/")

    losses = answer.context["losses"]
    assert (losses.now.died, losses.came, losses.now.verdict) == (2, 40, "usual")
    assert losses.now.low <= losses.now.expected <= losses.now.high
    assert [row.day for row in losses.rows] == [day(-16), day(-9), day(-2), TODAY]
    assert [row.died for row in losses.rows] == [0, 0, 2, 2]
    assert "2 of 40 died so far." in text(answer)


def test_losses_beyond_chance_ask_to_look_for_the_cause(seen: Client, world: World, browns: Batch):
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=12, day=TODAY)

    assert "That is more than chance explains: look for the cause." in text(
        seen.get(f"/batches/{browns.pk}/")
    )


def test_a_weighing_is_a_dot_and_a_row_with_its_difference_from_the_curve(
    seen: Client, world: World, browns: Batch
):
    observations.add(world.by, kind="weight", batch_id=browns.pk, value=140.0, birds=10)

    answer = seen.get(f"/batches/{browns.pk}/")

    (one,) = answer.context["weights"].weighings
    assert (one.day, one.age) == (TODAY, 16)
    assert one.percent == round(100 * (140.0 / one.expected_g - 1))
    axes = answer.context["weights"].axes
    assert (one.x, one.y) == (axes.x(16), axes.y(140.0))
    assert "140 g" in text(answer)


def test_weights_are_drawn_in_the_farms_units(seen: Client, world: World, browns: Batch):
    Farm.objects.filter(pk=world.farm.pk).update(units="us")
    observations.add(world.by, kind="weight", batch_id=browns.pk, value=283.495, birds=10)

    answer = seen.get(f"/batches/{browns.pk}/")

    weights = answer.context["weights"]
    assert weights.unit == "oz"
    assert weights.weighings[0].y == weights.axes.y(10.0)
    assert "10 oz" in text(answer)


def test_stays_say_how_many_and_lead_to_their_forms(seen: Client, world: World, browns: Batch):
    stay, place = browns.stays.get(), world.housing["Pen 1"].pk
    stays.add(world.by, batch_id=browns.pk, housing_id=place, birds=40, start=day(26), end=None)
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=2, day=TODAY)

    answer = seen.get(f"/batches/{browns.pk}/")

    assert [(one.state, one.shown, one.lacking) for one in answer.context["stays"]] == [
        ("going on", 38, 0),
        ("planned", 38, 2),
    ]
    page = text(answer)
    for address in (
        f"/stays/{stay.pk}/",
        f"/stays/{stay.pk}/remove/",
        f"/batches/{browns.pk}/stays/new/",
        f"/batches/{browns.pk}/move/",
    ):
        assert f'href="{address}"' in page


def test_what_was_seen_is_listed_newest_first(seen: Client, world: World, browns: Batch):
    observations.add(world.by, kind="behaviour", batch_id=browns.pk, word="huddled")
    observations.add(world.by, kind="note", batch_id=browns.pk, note="lively again")

    found = seen.get(f"/batches/{browns.pk}/").context["seen"]

    assert [one.kind for one in found] == ["note", "behaviour"]


def test_the_history_link_shows_this_batch_alone(seen: Client, world: World, browns: Batch):
    other = world.add_batch("Others")
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=2, day=TODAY)
    address = f"/history/?about=batch&id={browns.pk}"
    assert address.replace("&", "&amp;") in text(seen.get(f"/batches/{browns.pk}/"))

    page = text(seen.get(address))

    assert "Browns: 2 birds died" in page
    assert f"Batch {other} started" not in page


def test_a_batch_still_to_come_has_no_losses_and_is_not_counted(seen: Client, world: World):
    batch = world.add_batch("Coming", age=-5)

    answer = seen.get(f"/batches/{batch.pk}/")

    assert answer.context["losses"] is None
    page = text(answer)
    assert "birds expected on 6 May 2026" in page
    assert f"/batches/{batch.pk}/count/" not in page


def test_a_batch_that_is_gone_says_since_when_and_offers_no_move(seen: Client, world: World, browns: Batch):
    counts.add(world.by, batch_id=browns.pk, kind="processed", birds=40, day=day(-1))

    page = text(seen.get(f"/batches/{browns.pk}/"))

    assert "the last left on 30 April 2026" in page
    assert f"/batches/{browns.pk}/move/" not in page


def test_the_quick_box_stands_on_the_page_of_birds_that_are_here(seen: Client, browns: Batch):
    assert 'action="/quick/"' in text(seen.get(f"/batches/{browns.pk}/"))


def test_a_helper_counts_and_moves_but_changes_no_plan(client: Client, world: World, browns: Batch):
    client.force_login(world.add_member("Sam", Role.HELPER).login)
    with time_machine.travel(NOON, tick=False):
        page = text(client.get(f"/batches/{browns.pk}/"))

    assert f"/batches/{browns.pk}/count/" in page
    assert f"/batches/{browns.pk}/move/" in page
    for address in ("edit/", "stays/new/"):
        assert f"/batches/{browns.pk}/{address}" not in page


def test_a_longer_ledger_takes_no_more_queries(seen: Client, world: World, browns: Batch):
    with CaptureQueriesContext(connection) as short:
        seen.get(f"/batches/{browns.pk}/")
    for offset in range(8):
        counts.add(world.by, batch_id=browns.pk, kind="died", birds=1, day=day(-offset))
        observations.add(world.by, kind="weight", batch_id=browns.pk, value=100.0 + offset)
    with CaptureQueriesContext(connection) as long:
        seen.get(f"/batches/{browns.pk}/")

    assert len(long) == len(short)


def test_the_page_carries_no_inline_style_or_script(seen: Client, browns: Batch):
    page = seen.get(f"/batches/{browns.pk}/").content.decode()

    assert " style=" not in page
    assert "<script>" not in page
    assert " onclick" not in page
