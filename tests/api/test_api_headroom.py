"""Headroom over the API, and the question before an order: do they fit, what breaks, what would fit instead?"""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from farm.models import Batch, Headroom, Plan
from farm.services import headroom
from tests.api.api_world import Program, wrong
from tests.conftest import NOON, TODAY, World

ROUND = {"programme": "chicken_layer_brown", "birds": 50, "day": "2026-05-04"}


def ask(program: Program, **changed: Any) -> dict[str, Any]:
    reply = program.post("/what-if/", ROUND | changed)
    assert reply.status_code == 200, reply.content
    return reply.json()


def test_headroom_says_for_each_day_how_many_fit_and_what_binds(world: World, program: Program):
    world.add_batch("Reds", housing="Brooder 1")

    found = program.get("/headroom/?programme=chicken_layer_brown&from=2026-05-04&to=2026-05-07").json()

    assert [one["day"] for one in found["days"]] == ["2026-05-04", "2026-05-05", "2026-05-06"]
    assert {one["binding_housing_id"] for one in found["days"]} <= {row.pk for row in world.housing.values()}
    assert all(one["replanned_birds"] is None for one in found["days"])
    answer = ask(program, birds=found["days"][0]["birds"])
    assert (answer["fits"], answer["most"]) == (True, found["days"][0]["birds"])


def test_once_worked_out_the_stored_table_is_shown_with_the_days_planned_anew(world: World, program: Program):
    world.add_batch("Reds", housing="Brooder 1")
    before = program.get("/headroom/?programme=chicken_layer_brown").json()
    headroom.refresh(farm_id=world.farm.pk, now=NOON)
    cell = Headroom.objects.get(day=TODAY + timedelta(days=3))
    Headroom.objects.filter(pk=cell.pk).update(replanned_birds=cell.birds + 7)

    after = program.get("/headroom/?programme=chicken_layer_brown").json()

    assert len(after["days"]) == 92
    assert [one["birds"] for one in after["days"]] == [one["birds"] for one in before["days"]]
    assert (before["replanned_of"], after["replanned_of"]) == (0, 26)
    assert after["days"][3]["replanned_birds"] == cell.birds + 7


@pytest.mark.parametrize(
    ("query", "parameter"),
    [
        ("from=2026-04-30", "from"),
        ("from=2026-05-05&to=2026-05-05", "to"),
        ("from=2026-05-05&to=2027-05-30", "to"),
        ("from=2027-05-01", "from"),
        ("from=soon", "from"),
    ],
)
def test_days_that_can_not_be_answered_for_are_refused(program: Program, query: str, parameter: str):
    reply = program.get(f"/headroom/?programme=chicken_layer_brown&{query}")

    assert (reply.status_code, list(wrong(reply))) == (422, [parameter])


def test_a_programme_nobody_knows_is_not_found(world: World, elsewhere: World, program: Program):
    assert program.get("/headroom/?programme=dragons").status_code == 404
    assert program.post("/what-if/", ROUND | {"programme": "999999"}).status_code == 404


def test_a_farm_without_housing_has_no_headroom(elsewhere: World):
    theirs = Program(elsewhere.by)

    assert theirs.get("/headroom/?programme=chicken_layer_brown").json()["days"] == []
    assert theirs.post("/what-if/", ROUND).status_code == 422


def test_what_fits_is_said_without_saving_anything(world: World, program: Program):
    answer = ask(program, birds=10)

    assert answer["fits"]
    assert (answer["shortfalls"], answer["next_day"]) == ([], "2026-05-04")
    assert answer["most"] >= 10
    assert not Batch.objects.exists()
    assert not Plan.objects.exists()


def test_what_does_not_fit_says_what_breaks_by_how_much_and_what_would_instead(
    world: World, program: Program
):
    world.add_batch("Reds", birds=40, age=0, housing="Brooder 1", leaves_on=TODAY + timedelta(days=50))

    answer = ask(program, birds=50)

    assert not answer["fits"]
    assert answer["most"] < 50
    assert answer["shortfalls"]
    assert all(one["short"] > 0 for one in answer["shortfalls"])
    assert answer["ways_out"] is None
    assert ask(program, birds=max(answer["most"], 1))["fits"] == (answer["most"] > 0)
    if answer["next_day"] is not None:
        assert ask(program, day=answer["next_day"])["fits"]


def test_ways_out_come_when_asked_for_and_the_question_can_be_tried_as_a_plan(world: World, program: Program):
    world.add_batch("Reds", birds=40, age=0, housing="Brooder 1")

    answer = ask(program, birds=150, ways_out=True)
    made = program.post("/plans/", {"offer": answer["offer"]})

    assert answer["ways_out"]["shortfall"] in answer["shortfalls"]
    assert (made.status_code, len(made.json()["changes"])) == (202, 1)
    assert "150 birds" in made.json()["changes"][0]


@pytest.mark.parametrize(
    ("field", "value"), [("birds", 0), ("day", "2026-04-30"), ("day", "2027-05-01"), ("age_days", -1)]
)
def test_a_question_that_can_not_be_answered_is_refused_at_its_field(
    world: World, program: Program, field: str, value: object
):
    reply = program.post("/what-if/", ROUND | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])


def test_headroom_is_for_keepers(world: World):
    helper = Program(world.add_member("Hans", "helper"))

    assert helper.get("/headroom/?programme=chicken_layer_brown").status_code == 403
    assert helper.post("/what-if/", ROUND).status_code == 403
    assert Program(world.by, "read").post("/what-if/", ROUND).status_code == 200
