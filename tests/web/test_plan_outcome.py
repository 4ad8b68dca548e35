"""The page of a plan: while it is worked out, and beside what is planned now."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import date, timedelta

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, Plan
from farm.models.plan import PlanState
from farm.planning.changes import ChangeArea
from farm.planning.window import Window
from farm.queries import plans as queries
from farm.queries.occupancy import Sheet
from farm.services import plans
from tests.conftest import NOON, TODAY, World
from tests.web.plan_pages import crowd, quail, ready, tried, words


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks, 14 days old, in Brooder 1 until they go to the pen on 1 June."""
    return world.add_batch("Browns", housing="Brooder 1", housing_until=TODAY + timedelta(days=31))


def test_while_it_is_worked_out_the_page_asks_again_by_itself_with_and_without_scripts(
    seen: Client, browns: Batch
):
    plan = tried(seen, **quail())

    html = seen.get(f"/plan/{plan.code}/").content.decode()

    assert f'hx-get="/plan/{plan.code}/" hx-trigger="every 1s"' in html
    assert '<noscript><meta http-equiv="refresh" content="2"></noscript>' in html
    assert f"0 of {plan.iterations} tries" in html
    part = seen.get(f"/plan/{plan.code}/", headers={"HX-Request": "true"}).content.decode()
    assert "<html" not in part
    assert part.lstrip().startswith('<div id="plan"')


def test_a_ready_plan_asks_no_more(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))

    html = seen.get(f"/plan/{plan.code}/").content.decode()

    assert "every 1s" not in html
    assert "http-equiv" not in html


def test_a_ready_trial_shows_both_boards_the_moves_and_the_bill(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))

    answer = seen.get(f"/plan/{plan.code}/")

    text = words(answer)
    for heading in ("As planned now", "With this trial", "What moves otherwise", "What it costs"):
        assert heading in text
    assert re.search(r"Laying quail: 30 begin in \w+ \d on 22 May", text)
    names = re.findall(r'id="((?:now|then)-age-[^"]+)"', answer.content.decode())
    assert len(names) == len(set(names)) > 1


def test_only_housing_that_differs_is_shown_until_all_is_asked_for(seen: Client, world: World, browns: Batch):
    world.add_housing("Shed", in_service_from=TODAY + timedelta(days=300))
    plan = ready(seen, tried(seen, **quail()))

    some = seen.get(f"/plan/{plan.code}/").context["pair"]
    every = seen.get(f"/plan/{plan.code}/?all=1").context["pair"]

    assert 0 < len(some.then.rows) < len(every.then.rows)
    assert [row.key for row in every.then.rows if row.housing] == [
        row.key for row in every.now.rows if row.housing
    ]
    assert some.same == len(every.then.rows) - len(some.then.rows)


def test_stopping_before_anyone_began_drops_it(seen: Client, browns: Batch):
    plan = tried(seen, **quail())

    seen.post(f"/plan/{plan.code}/stop/")

    plan.refresh_from_db()
    assert plan.state == PlanState.DROPPED


def test_a_plan_an_older_program_wrote_says_so_and_breaks_no_page(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    Plan.objects.filter(pk=plan.pk).update(problem=plan.problem | {"version": 999})

    answer = seen.get(f"/plan/{plan.code}/")

    assert answer.status_code == 422
    assert "made by an older Featherdays" in words(answer)
    assert seen.get("/plan/").status_code == 200


def test_what_would_still_fit_is_compared_with_what_fits_now(seen: Client, world: World, browns: Batch):
    room = world.housing["Brooder 2"].pk
    plan = ready(seen, tried(seen, kind="lose_housing", housing=room, start="2026-05-02", end=""))

    part = seen.get(f"/plan/{plan.code}/room/", headers={"HX-Request": "true"})
    page = seen.get(f"/plan/{plan.code}/room/")

    ((now, then),) = part.context["lines"]
    assert then.days < now.days
    assert part.content.decode().strip() in page.content.decode()
    assert "<html" not in part.content.decode()


def test_a_plan_without_a_solution_has_nothing_to_compare(seen: Client, browns: Batch):
    plan = tried(seen, **quail())

    assert "nothing to compare yet" in words(seen.get(f"/plan/{plan.code}/room/"))


def test_one_that_is_being_worked_out_can_be_stopped_and_says_so(seen: Client, browns: Batch):
    plan = tried(seen, **quail())
    Plan.objects.filter(pk=plan.pk).update(
        state=PlanState.SOLVING, claim="a worker", beat_at=NOON, iteration=40
    )
    before = words(seen.get(f"/plan/{plan.code}/"))

    seen.post(f"/plan/{plan.code}/stop/")

    assert f"40 of {plan.iterations} tries" in before
    assert "Stop and keep the best so far" in before
    assert "Do not wait" not in before
    plan.refresh_from_db()
    assert (plan.state, plan.cancel_asked) == (PlanState.SOLVING, True)
    after = words(seen.get(f"/plan/{plan.code}/"))
    assert "Stopping …" in after
    assert "Stop and keep the best so far" not in after


def test_a_failed_plan_says_why_and_can_be_tried_again(seen: Client, browns: Batch):
    plan = tried(seen, **quail())
    Plan.objects.filter(pk=plan.pk).update(state=PlanState.FAILED, error="The log says what.")

    text = words(seen.get(f"/plan/{plan.code}/"))

    assert "The log says what." in text
    assert "Work it out again" in text


def crowded_with(seen: Client, world: World, area_dm2: int) -> Sheet:
    """A crowd in Brooder 1, tried with so much floor in it from tomorrow until 30 June."""
    crowd(world)
    more = ChangeArea(
        str(world.housing["Brooder 1"].pk), area_dm2, TODAY + timedelta(days=1), date(2026, 7, 1)
    )
    plan = ready(seen, plans.propose(world.by, changes=[more]))
    return queries.sheet(queries.shown(plan), Window(TODAY, 90), TODAY)


def test_floor_that_a_trial_adds_for_some_days_is_on_its_board(seen: Client, world: World):
    load = crowded_with(seen, world, 2500).occupancy

    room, pen = (load.row[str(world.housing[name].pk)] for name in ("Brooder 1", "Pen 1"))
    assert load.area_m2[room, [0, 1, 60, 61]].tolist() == [4.0, 25.0, 25.0, 4.0]
    assert load.area_m2[pen].tolist() == [12.0] * 90


def test_a_housing_tried_with_less_floor_for_some_days_is_short_on_those_alone(seen: Client, world: World):
    sheet = crowded_with(seen, world, 1)
    room = str(world.housing["Brooder 1"].pk)

    short = [one for one in sheet.breaches if one.room == room and one.kind == "room"]

    load = sheet.occupancy
    over = load.area_asked_m2[load.row[room]] - load.area_m2[load.row[room]] > 1e-6
    days = [load.window.index(one.start) for one in short]
    assert [bool(over[day]) for day in days] == [True] * len(short)
    assert sum((one.end - one.start).days for one in short) == int(over.sum())
