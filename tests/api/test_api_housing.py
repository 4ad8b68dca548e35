"""Housing over the API: read with its load today, added, changed by who saw the newest version, removed unused."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import Housing
from tests.api.api_world import Program, wrong
from tests.conftest import TODAY, World

NEW = {"name": "Brooder 3", "kind": "brooder", "area_m2": 1.5}


def test_a_housing_shows_who_lives_in_it_today_and_what_they_ask(world: World, program: Program):
    batch = world.add_batch("Wrens", birds=40, housing="Brooder 1")

    shown = program.get(f"/housing/{world.housing['Brooder 1'].pk}/").json()

    assert (shown["name"], shown["area_m2"], shown["kind"]) == ("Brooder 1", 4.0, "brooder")
    today = shown["today"]
    assert today["birds"] == 40
    assert [(one["batch_id"], one["batch"], one["birds"]) for one in today["lodgers"]] == [
        (batch.pk, "Wrens", 40)
    ]
    assert today["lodgers"][0]["target_temp_c"] > 20
    assert today["area_asked_m2"] > 0
    assert today["floor_percent"] == round(100 * today["area_asked_m2"] / 4.0)
    assert today["free_from"] is None


def test_an_empty_housing_is_free_today(world: World, program: Program):
    today = program.get(f"/housing/{world.housing['Pen 1'].pk}/").json()["today"]

    assert (today["birds"], today["lodgers"], today["free_from"]) == (0, [], str(TODAY))


def test_its_card_opens_where_the_printed_code_leads(world: World, program: Program):
    shown = program.get(f"/housing/{world.housing['Pen 1'].pk}/").json()

    assert shown["code"] == world.housing["Pen 1"].code
    assert shown["card_address"].endswith(f"{shown['code']}/")


def test_adding_answers_with_its_address_and_what_is_usual_for_its_kind(world: World, program: Program):
    reply = program.post("/housing/", NEW)

    housing = Housing.objects.get(name="Brooder 3")
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/housing/{housing.pk}/")
    assert (housing.farm, housing.heated, housing.indoor) == (world.farm, True, True)
    assert program.get(f"/housing/{housing.pk}/").json() == reply.json()


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("name", "Pen 1"),
        ("name", "x" * 61),
        ("kind", "castle"),
        ("area_m2", 0),
        ("rest_days", 366),
        ("species", ["dodo"]),
        ("supplement_c", -1),
        ("in_service_from", "2150-01-01"),
    ],
)
def test_what_no_housing_can_be_is_refused_at_its_field(
    world: World, program: Program, field: str, value: object
):
    reply = program.post("/housing/", NEW | {field: value})

    assert (reply.status_code, list(wrong(reply))) == (422, [f"#/{field}"])
    assert Housing.objects.count() == 3


def test_a_change_needs_the_version_that_was_read(world: World, program: Program):
    path = f"/housing/{world.housing['Pen 1'].pk}/"
    seen = program.get(path)

    assert program.patch(path, {"area_m2": 9}).status_code == 428
    changed = program.patch(path, {"area_m2": 9, "in_service_to": "2026-09-01"}, seen=seen)
    late = program.patch(path, {"area_m2": 8}, seen=seen)

    assert (changed.status_code, changed.json()["area_m2"], changed.json()["in_service_to"]) == (
        200,
        9.0,
        "2026-09-01",
    )
    assert late.status_code == 412
    assert Housing.objects.get(name="Pen 1").area_m2 == 9.0


def test_a_rule_that_those_who_live_there_break_is_refused(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")

    reply = program.patch(f"/housing/{world.housing['Brooder 1'].pk}/", {"species": ["duck"]}, If_Match="*")

    assert (reply.status_code, list(wrong(reply))) == (422, ["#/species"])
    assert Housing.objects.get(name="Brooder 1").species == []


def test_only_unused_housing_is_removed(world: World, program: Program):
    world.add_batch("Wrens", housing="Brooder 1")
    used, unused = (f"/housing/{world.housing[name].pk}/" for name in ("Brooder 1", "Pen 1"))

    assert program.delete(used, If_Match="*").status_code == 422
    assert program.delete(unused).status_code == 428
    assert program.delete(unused, seen=program.get(unused)).status_code == 204
    assert sorted(Housing.objects.values_list("name", flat=True)) == ["Brooder 1", "Brooder 2"]


def test_removing_what_was_changed_since_is_refused(world: World, program: Program):
    path = f"/housing/{world.housing['Pen 1'].pk}/"
    seen = program.get(path)
    program.patch(path, {"area_m2": 9}, seen=seen)

    assert program.delete(path, seen=seen).status_code == 412
    assert Housing.objects.count() == 3


def test_a_helper_reads_housing_but_does_not_change_it(world: World):
    helper = Program(world.add_member("Eve", "helper"))
    path = f"/housing/{world.housing['Pen 1'].pk}/"

    assert helper.get(path).status_code == 200
    for reply in (
        helper.post("/housing/", NEW),
        helper.patch(path, {"area_m2": 9}, If_Match="*"),
        helper.delete(path, If_Match="*"),
    ):
        assert reply.status_code == 403
    assert Housing.objects.count() == 3


def test_a_token_that_may_only_read_adds_nothing(world: World):
    assert Program(world.by, "read").post("/housing/", NEW).status_code == 403
    assert Housing.objects.count() == 3


def test_another_farms_housing_is_not_found(world: World, elsewhere: World, program: Program):
    theirs = elsewhere.add_housing("Theirs")
    path = f"/housing/{theirs.pk}/"

    for reply in (
        program.get(path),
        program.patch(path, {"area_m2": 9}, If_Match="*"),
        program.delete(path, If_Match="*"),
    ):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    assert "Theirs" not in [item["name"] for item in program.get("/housing/").json()["items"]]
    assert Housing.objects.get(pk=theirs.pk).area_m2 == 4.0


def test_housing_is_listed_as_on_the_board_page_by_page_and_filtered(world: World, program: Program):
    def names(query: str) -> list[str]:
        return [item["name"] for item in program.get(f"/housing/?fields=name&{query}").json()["items"]]

    first = program.get("/housing/?limit=2").json()
    assert [item["name"] for item in first["items"]] == ["Brooder 1", "Brooder 2"]
    assert names(f"limit=2&cursor={first['next']}") == ["Pen 1"]
    assert names("heated=false") == ["Pen 1"]
    assert names("name=BROOD&kind=brooder") == ["Brooder 1", "Brooder 2"]


def test_more_housing_takes_no_more_queries(world: World, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/housing/").status_code == 200
        return len(seen)

    world.add_batch("First", housing="Brooder 1")
    queries()
    few = queries()
    for number in range(6):
        world.add_housing(f"More {number}")
        world.add_batch(f"More {number}", housing=f"More {number}")

    assert queries() == few
