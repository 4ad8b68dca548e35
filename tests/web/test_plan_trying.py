"""Trials: tried, worked out, compared, adopted and taken back, and nothing saved before."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import timedelta
from typing import Any

import pytest
import time_machine
from django.test import Client

from farm.models import Batch, Plan, Stay
from farm.models.plan import PlanState
from farm.services import counts, history, plans
from tests.conftest import NOON, TODAY, World
from tests.web.test_plan_page import words


@pytest.fixture
def seen(client: Client, world: World) -> Iterator[Client]:
    client.force_login(world.keeper.login)
    with time_machine.travel(NOON, tick=False):
        yield client


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks, 14 days old, in Brooder 1 until they go to the pen on 1 June."""
    return world.add_batch("Browns", housing="Brooder 1", housing_until=TODAY + timedelta(days=31))


def tried(seen: Client, **fields: object) -> Plan:
    """Return the plan that a form's change was tried in."""
    answer = seen.post("/plan/try/", fields)
    assert answer.status_code == 302, answer.context["form"].errors
    return Plan.objects.get(code=answer["Location"].split("/")[2])


def ready(seen: Client, plan: Plan) -> Plan:
    """Work a plan out as the button does."""
    assert seen.post(f"/plan/{plan.code}/now/").status_code == 302
    plan.refresh_from_db()
    assert plan.state == PlanState.READY
    return plan


def quail(**fields: str) -> dict[str, str]:
    """A form of 30 quail that would come in three weeks."""
    return {
        "kind": "add_batch",
        "type": "quail_layer",
        "birds": "30",
        "day": "2026-05-22",
        "age_days": "0",
        "leaves": "",
    } | fields


def test_trying_saves_nothing_on_the_farm(seen: Client, browns: Batch):
    before = list(Stay.objects.values())

    plan = ready(seen, tried(seen, **quail()))
    seen.get(f"/plan/{plan.code}/")

    assert list(Stay.objects.values()) == before
    assert Batch.objects.count() == 1


def test_every_kind_of_change_can_be_tried(seen: Client, world: World, browns: Batch):
    later = world.add_batch("Later", age=-30)
    room, pen = world.housing["Brooder 2"].pk, world.housing["Pen 1"].pk
    forms: list[tuple[dict[str, object], str]] = [
        (dict(quail()), "Add 30 birds (Laying quail), arriving on 22 May"),
        ({"kind": "move_arrival", "batch": later.pk, "day": "2026-07-01"}, "Later arrive on 1 July"),
        ({"kind": "change_birds", "batch": browns.pk, "birds": 12}, "Browns are 12 birds"),
        (
            {"kind": "add_housing", "name": "Shed", "what": "pen", "area_m2": "6.5", "start": "2026-06-01"},
            "Add housing: Shed, 6.50 m², from 1 June",
        ),
        (
            {"kind": "lose_housing", "housing": room, "start": "2026-06-01", "end": "2026-07-01"},
            "Brooder 2 is out of use from 1 June to 30 June",
        ),
        (
            {
                "kind": "pin_stay",
                "batch": browns.pk,
                "housing": pen,
                "start": "2026-07-01",
                "end": "2026-08-01",
            },
            "Browns stay in Pen 1 from 1 July to 31 July",
        ),
        ({"kind": "forbid_housing", "batch": browns.pk, "housing": room}, "Browns stay out of Brooder 2"),
    ]

    for fields, sentence in forms:
        plan = tried(seen, **fields)
        assert sentence in words(seen.get(f"/plan/{plan.code}/"))
        assert plan.kind == "trial"


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        (quail(birds="0"), "birds"),
        (quail(birds=""), "birds"),
        (quail(day="2026-04-01"), "day"),
        (quail(day="soon"), "day"),
        (quail(type="dodo"), "type"),
        (quail(leaves="2026-05-22"), "leaves"),
        ({"kind": "move_arrival", "batch": "999", "day": "2026-05-09"}, "batch"),
        ({"kind": "add_housing", "name": "", "what": "pen", "area_m2": "4"}, "name"),
        ({"kind": "add_housing", "name": "Shed", "what": "pen", "area_m2": "0"}, "area_m2"),
        (
            {"kind": "lose_housing", "housing": "1", "start": "2026-06-01", "end": "2026-06-01"},
            "end",
        ),
        ({"kind": "lose_housing", "housing": "", "start": "2026-06-01"}, "housing"),
    ],
)  # fmt: skip
def test_a_mistaken_change_is_told_at_its_field_and_keeps_what_was_typed(
    seen: Client, world: World, browns: Batch, fields: dict[str, str], field: str
):
    fields = {
        name: str(world.housing["Brooder 2"].pk) if text == "1" else text for name, text in fields.items()
    }
    answer = seen.post("/plan/try/", fields)

    assert answer.status_code == 422
    assert list(answer.context["form"].errors) == [field]
    assert answer.context["form"].data["kind"] == fields["kind"]
    assert Plan.objects.count() == 0


def test_a_kind_nobody_knows_leads_back(seen: Client):
    assert seen.post("/plan/try/", {"kind": "sell_farm"})["Location"] == "/plan/"
    assert Plan.objects.count() == 0


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


def test_a_change_is_added_to_a_trial_and_taken_out_again(seen: Client, world: World, browns: Batch):
    first = ready(seen, tried(seen, **quail()))

    answer = seen.post(f"/plan/{first.code}/try/", {"kind": "change_birds", "batch": browns.pk, "birds": 10})
    second = Plan.objects.get(code=answer["Location"].split("/")[2])
    assert [change["kind"] for change in second.changes] == ["add_batch", "change_birds"]
    answer = seen.post(f"/plan/{second.code}/without/", {"change": "0"})
    third = Plan.objects.get(code=answer["Location"].split("/")[2])

    assert [change["kind"] for change in third.changes] == ["change_birds"]
    second.refresh_from_db()
    assert second.state == PlanState.DROPPED  # nobody waits for it any more


def test_a_trials_own_batch_can_be_changed_further(seen: Client, browns: Batch):
    first = ready(seen, tried(seen, **quail()))
    key = first.changes[0]["batch"]["key"]

    answer = seen.post(
        f"/plan/{first.code}/try/", {"kind": "move_arrival", "batch": key, "day": "2026-05-29"}
    )

    assert "Laying quail arrive on 29 May" in words(seen.get(answer["Location"]))


def test_adopting_writes_the_trial_and_its_page_leads_to_undo(seen: Client, world: World, browns: Batch):
    before = list(Stay.objects.order_by("pk").values("batch", "housing", "start", "end", "birds"))
    plan = ready(seen, tried(seen, **quail()))

    answer = seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version}, follow=True)

    plan.refresh_from_db()
    assert "This is the plan you follow" in words(answer)
    new = Batch.objects.get(name="Laying quail")
    assert (new.arrived_on.isoformat(), sum(new.stays.values_list("birds", flat=True)) >= 30) == (
        "2026-05-22",
        True,
    )
    assert f'href="/history/{plan.adoption.pk}/"' in answer.content.decode()
    seen.post(f"/history/{plan.adoption.pk}/undo/")
    assert not Batch.objects.filter(name="Laying quail").exists()
    assert list(Stay.objects.order_by("pk").values("batch", "housing", "start", "end", "birds")) == before
    assert "adopted and then taken back" in words(seen.get(f"/plan/{plan.code}/"))


def test_what_changed_meanwhile_is_shown_and_nothing_is_written(seen: Client, world: World, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=5, day=TODAY)
    before = list(Stay.objects.values())

    shown = seen.get(f"/plan/{plan.code}/")
    answer = seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version})

    assert "The farm was changed since this was worked out" in words(shown)
    assert answer.status_code == 409
    assert re.search(r"Ada: Browns: 5 birds died", words(answer))
    assert "Work it out again" in words(answer)
    assert list(Stay.objects.values()) == before
    assert Batch.objects.count() == 1


def test_working_it_out_again_takes_the_same_changes_to_the_farm_as_it_is(
    seen: Client, world: World, browns: Batch
):
    plan = ready(seen, tried(seen, **quail()))
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=5, day=TODAY)

    answer = seen.post(f"/plan/{plan.code}/again/")

    again = Plan.objects.get(code=answer["Location"].split("/")[2])
    assert again.changes == plan.changes
    assert again.problem != plan.problem


def test_a_plan_worked_out_anew_meanwhile_is_not_adopted_unseen(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))

    answer = seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version - 1})

    assert answer.status_code == 409
    assert Batch.objects.count() == 1


def test_a_plan_that_is_not_ready_is_not_adopted(seen: Client, browns: Batch):
    plan = tried(seen, **quail())

    answer = seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version})

    assert answer.status_code == 409
    assert "still being worked out" in words(answer)


def test_a_dropped_trial_says_so_and_can_be_worked_out_again(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))

    answer = seen.post(f"/plan/{plan.code}/drop/", follow=True)

    assert "Nothing on the farm was changed" in words(answer)
    assert "was put aside" in words(seen.get(f"/plan/{plan.code}/"))
    assert seen.post(f"/plan/{plan.code}/again/").status_code == 302


def test_an_adopted_plan_is_not_dropped(seen: Client, world: World, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    plans.adopt(world.by, plan_id=plan.pk, seen_version=plan.version)

    answer = seen.post(f"/plan/{plan.code}/drop/", follow=True)

    assert "This plan was adopted" in words(answer)
    plan.refresh_from_db()
    assert plan.state == PlanState.ADOPTED


def test_stopping_before_anyone_began_drops_it(seen: Client, browns: Batch):
    plan = tried(seen, **quail())

    seen.post(f"/plan/{plan.code}/stop/")

    plan.refresh_from_db()
    assert plan.state == PlanState.DROPPED


def test_what_adopting_does_not_keep_is_said_before(seen: Client, world: World, browns: Batch):
    room = world.housing["Brooder 2"].pk
    plan = ready(seen, tried(seen, kind="lose_housing", housing=room, start="2026-06-01", end="2026-07-01"))

    assert "Remember this yourself" in words(seen.get(f"/plan/{plan.code}/"))


def test_a_trial_is_a_link_that_other_keepers_of_the_farm_can_open(seen: Client, world: World, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    other = Client()
    other.force_login(world.add_member("Jonas", "keeper").login)

    assert other.get(f"/plan/{plan.code}/").status_code == 200


def test_another_farms_plans_are_not_found(seen: Client, world: World, elsewhere: World):
    elsewhere.add_housing("Shed")
    elsewhere.add_batch("Secret", housing="Shed")
    theirs = plans.propose(elsewhere.by)

    for part in ("", "ways/"):
        assert seen.get(f"/plan/{theirs.code}/{part}").status_code == 404
    for verb in ("adopt", "drop", "stop", "now", "again", "try", "without"):
        assert seen.post(f"/plan/{theirs.code}/{verb}/").status_code == 404
    theirs.refresh_from_db()
    assert (theirs.state, Plan.objects.count()) == (PlanState.WAITING, 1)


def test_trials_are_listed_with_who_made_them_and_what_became_of_them(
    seen: Client, world: World, browns: Batch
):
    plan = ready(seen, tried(seen, **quail()))
    entry = plans.adopt(world.by, plan_id=plan.pk, seen_version=plan.version)
    assert "Ada: adopted" in words(seen.get("/plan/"))
    history.undo(world.by, entry_id=entry.pk)

    assert "adopted, then taken back" in words(seen.get("/plan/"))


def crowd(world: World) -> Batch:
    """80 chicks that outgrow Brooder 1."""
    return world.add_batch("Crowd", birds=80, housing="Brooder 1")


def help_link(answer: Any) -> str:
    found = re.search(r'href="(/plan/help/[^"]+)"', answer.content.decode())
    assert found is not None
    return found[1].replace("&amp;", "&")


def test_what_does_not_fit_on_the_board_leads_to_ways_out_and_one_click_tries_the_first(
    seen: Client, world: World
):
    crowd(world)
    board = seen.get("/board/")
    assert board.context["board"].told

    found = seen.get(help_link(board))
    offer = found.context["found"].offers[0]
    answer = seen.post("/plan/try/", {"changes": offer.sealed})

    assert "What would help" in words(found)
    plan = Plan.objects.get(code=answer["Location"].split("/")[2])
    assert (offer.left, plan.state, plan.bill["shortfall"]) == ((), PlanState.READY, 0)
    assert seen.get(f"/plan/{plan.code}/").context["pair"].then.told == ()
    assert "Everything fits" in words(seen.get(f"/plan/{plan.code}/"))


def test_a_way_out_offered_before_the_farm_changed_is_worked_out_again(seen: Client, world: World):
    batch = crowd(world)
    offer = seen.get(help_link(seen.get("/board/"))).context["found"].offers[0]
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=1, day=TODAY)

    answer = seen.post("/plan/try/", {"changes": offer.sealed})

    plan = Plan.objects.get(code=answer["Location"].split("/")[2])
    assert (plan.state, plan.solution) == (PlanState.WAITING, None)


@pytest.mark.parametrize("query", ["", "?kind=room&day=2026-05-01", "?kind=room&housing=x&day=never"])
def test_help_with_nothing_known_offers_to_look_for_a_better_plan(
    seen: Client, world: World, browns: Batch, query: str
):
    assert "Look for a better plan" in words(seen.get(f"/plan/help/{query}"))


def test_a_helper_sees_the_board_without_the_keepers_ways_out(client: Client, world: World):
    crowd(world)
    client.force_login(world.add_member("Lina", "helper").login)
    with time_machine.travel(NOON, tick=False):
        html = client.get("/board/").content.decode()

    assert "/plan/help/" not in html
    assert "plan_drag.js" not in html


def test_a_plan_an_older_program_wrote_says_so_and_breaks_no_page(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    Plan.objects.filter(pk=plan.pk).update(problem=plan.problem | {"version": 999})

    answer = seen.get(f"/plan/{plan.code}/")

    assert answer.status_code == 422
    assert "made by an older Featherdays" in words(answer)
    assert seen.get("/plan/").status_code == 200


def test_an_adopted_plan_is_shown_alone(seen: Client, world: World, browns: Batch):
    plan = ready(seen, tried(seen, **quail()))
    plans.adopt(world.by, plan_id=plan.pk, seen_version=plan.version)

    text = words(seen.get(f"/plan/{plan.code}/"))

    assert "With this trial" in text
    assert "As planned now" not in text


@pytest.fixture
def noticed(world: World, browns: Batch) -> Plan:
    """A plan that was proposed by itself after a loss and is worked out: a move fewer for the crowd."""
    crowd(world)
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=9, day=TODAY)
    plan = plans.propose_after(farm_id=world.farm.pk, why="losses", now=NOON)
    assert plan is not None
    plans.solve_now(world.by, plan_id=plan.pk, now=lambda: NOON)
    plan.refresh_from_db()
    assert plan.state == PlanState.READY
    return plan


@pytest.mark.parametrize("page", ["/", "/board/", "/plan/"])
def test_a_proposal_made_by_itself_is_told_of_where_keepers_look(seen: Client, noticed: Plan, page: str):
    answer = seen.get(page)

    assert "1 better plan to look at" in words(answer)
    assert f'href="/plan/{noticed.code}/"' in answer.content.decode()


def test_a_helper_is_not_told_of_proposals(client: Client, world: World, noticed: Plan):
    client.force_login(world.add_member("Lina", "helper").login)
    with time_machine.travel(NOON, tick=False):
        pages = [client.get(page).content.decode() for page in ("/", "/board/")]

    assert all(noticed.code not in html for html in pages)


def test_a_proposal_put_aside_is_told_of_no_more(seen: Client, noticed: Plan):
    seen.post(f"/plan/{noticed.code}/drop/")

    assert "better plan" not in words(seen.get("/board/"))


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


def test_a_number_adopted_and_taken_back_can_be_adopted_again(seen: Client, world: World):
    later = world.add_batch("Later", birds=40, age=-30)

    for birds in (25, 30):
        plan = ready(seen, tried(seen, kind="change_birds", batch=later.pk, birds=birds))
        assert seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version}).status_code == 302
        assert sum(later.count_entries.values_list("birds", flat=True)) == birds
        plan.refresh_from_db()
        seen.post(f"/history/{plan.adoption.pk}/undo/")
        assert sum(later.count_entries.values_list("birds", flat=True)) == 40


def test_a_plan_is_called_by_what_it_tries_in_lists_and_in_the_history(
    seen: Client, world: World, browns: Batch
):
    plan = ready(seen, tried(seen, **quail()))
    seen.post(f"/plan/{plan.code}/adopt/", {"version": plan.version})

    name = "Add 30 birds (Laying quail), arriving on 22 May"
    assert name in words(seen.get("/plan/"))
    assert f"Plan adopted: {name}" in words(seen.get("/history/"))


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


def test_no_more_is_tried_at_once_than_a_page_can_hold(seen: Client, browns: Batch):
    plan = ready(seen, tried(seen, kind="change_birds", batch=browns.pk, birds=39))
    Plan.objects.filter(pk=plan.pk).update(changes=plan.changes * 12)

    answer = seen.post(f"/plan/{plan.code}/try/", {"kind": "change_birds", "batch": browns.pk, "birds": 5})

    assert answer.status_code == 422
    assert "too much at once" in words(answer)
