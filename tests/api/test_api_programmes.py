"""Rearing programmes over the API: read with their curves, copied, edited version by version."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from farm.models import ProgrammeVersion, RearingProgramme
from farm.services import programmes
from farm.trade import load
from farm.trade.programme import OWN
from tests.api.api_world import Program, wrong
from tests.conftest import World

LAYER = "chicken_layer_brown"


@pytest.fixture
def own(world: World) -> RearingProgramme:
    """A copy of the brown layers' programme."""
    return programmes.copy(world.by, source=LAYER, name="Our layers")


def test_a_built_in_programme_shows_its_curves_with_their_sources(program: Program):
    shown = program.get(f"/programmes/{LAYER}/").json()

    shipped = load.to_dict(load.programmes()[LAYER])
    assert {
        name: shown[name] for name in ("key", "name", "species", "type", "rules", "feeds", "jobs", "curves")
    } == (shipped)
    assert (shown["own"], shown["number"], shown["versions"]) == (False, 0, [])


def test_what_batches_can_follow_is_listed_own_first(world: World, own: RearingProgramme, program: Program):
    world.add_batch("Wrens")

    rows = program.get("/programmes/?limit=200").json()["items"]

    assert rows[0] == {
        "key": str(own.pk),
        "name": "Our layers",
        "species": "chicken",
        "type": own.type,
        "own": True,
        "number": 1,
        "batches": 0,
    }
    assert [row["key"] for row in rows[1:]] == list(load.programmes())
    assert {row["key"]: (row["number"], row["batches"]) for row in rows[1:]}[LAYER] == (1, 1)


def test_the_list_is_filtered_and_paged(own: RearingProgramme, program: Program):
    first = program.get("/programmes/?limit=1").json()
    second = program.get(f"/programmes/?limit=1&cursor={first['next']}").json()

    assert second["items"][0]["key"] == next(iter(load.programmes()))
    assert [row["key"] for row in program.get("/programmes/?own=true").json()["items"]] == [str(own.pk)]
    ducks = program.get("/programmes/?species=duck").json()["items"]
    assert {row["species"] for row in ducks} == {"duck"}


def test_a_batchs_version_leads_to_its_programme(world: World, program: Program):
    batch = world.add_batch("Wrens")
    number = program.get(f"/batches/{batch.pk}/").json()["programme_version_id"]

    shown = program.get(f"/programme-versions/{number}/").json()

    assert (shown["key"], shown["number"]) == (LAYER, 1)
    assert [version["id"] for version in shown["versions"]] == [number]


def test_a_programme_is_copied_under_a_new_name(program: Program):
    reply = program.post(f"/programmes/{LAYER}/copies/", {"name": "Hill layers"})

    own = RearingProgramme.objects.get(edited=True)
    assert (reply.status_code, reply["Location"]) == (201, f"/api/v1/programmes/{own.pk}/")
    assert (reply.json()["name"], reply.json()["own"], reply.json()["number"]) == ("Hill layers", True, 1)
    assert program.get(f"/programmes/{own.pk}/").json() == reply.json()


@pytest.mark.parametrize(
    ("name", "place"),
    [("Our layers", "#"), ("Brown layer chicken", "#/name"), (" ", "#/name"), ("x" * 81, "#/name")],
)
def test_a_copy_needs_a_name_of_its_own(own: RearingProgramme, program: Program, name: str, place: str):
    reply = program.post(f"/programmes/{own.pk}/copies/", {"name": name})

    assert (reply.status_code, list(wrong(reply))) == (422, [place])
    assert RearingProgramme.objects.filter(edited=True).count() == 1


def test_a_changed_table_becomes_a_new_version_and_the_rest_stays(own: RearingProgramme, program: Program):
    path = f"/programmes/{own.pk}/"
    seen = program.get(path)
    rules = seen.json()["rules"] | {"day_out_day": {"value": 30, "source": OWN}}

    reply = program.patch(path, {"rules": rules, "note": "Out later"}, seen=seen)

    assert (reply.status_code, reply.json()["number"]) == (200, 2)
    assert reply.json()["rules"]["day_out_day"] == {"value": 30.0, "source": OWN}
    assert reply.json()["curves"] == seen.json()["curves"]
    assert [(one["number"], one["note"]) for one in reply.json()["versions"]] == [
        (2, "Out later"),
        (1, "Copied from Brown layer chicken v1"),
    ]
    before = program.get(f"{path}?version=1").json()
    assert before["rules"] == seen.json()["rules"]


def test_a_change_of_an_older_version_is_refused(own: RearingProgramme, program: Program):
    path = f"/programmes/{own.pk}/"
    seen = program.get(path)
    rules = seen.json()["rules"] | {"day_out_day": {"value": 30, "source": OWN}}
    program.patch(path, {"rules": rules, "note": "Out later"}, seen=seen)

    late = program.patch(path, {"jobs": []}, seen=seen)

    assert (late.status_code, late.json()["changes"]) == (412, ["Our layers v2: Out later"])
    assert program.patch(path, {"jobs": []}).status_code == 428
    assert ProgrammeVersion.objects.filter(programme=own).count() == 2


def test_a_row_that_cannot_be_is_refused_at_its_place(own: RearingProgramme, program: Program):
    path = f"/programmes/{own.pk}/"
    curves = program.get(path).json()["curves"]
    curves["temp_c"][1]["value"] = 99

    reply = program.patch(path, {"curves": curves}, If_Match="*")

    assert (reply.status_code, list(wrong(reply))) == (422, ["#/curves/temp_c/1/value"])
    assert ProgrammeVersion.objects.filter(programme=own).count() == 1


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"curves": {}}, "#/curves/temp_c"),
        ({"feeds": []}, "#/feeds"),
        ({"jobs": ["dance"]}, "#/jobs"),
        ({"rules": {"wingspan": {"value": 1, "source": OWN}}}, "#/rules/wingspan"),
        ({"curves": {"temp_c": [{"day": -1, "value": 30, "source": OWN}]}}, "#/curves/temp_c/0/day"),
        ({"name": "Other"}, "#/name"),
    ],
)
def test_tables_no_programme_has_are_refused(
    own: RearingProgramme, program: Program, change: dict[str, object], place: str
):
    reply = program.patch(f"/programmes/{own.pk}/", change, If_Match="*")

    assert reply.status_code == 422
    assert place in wrong(reply)
    assert ProgrammeVersion.objects.filter(programme=own).count() == 1


def test_a_built_in_programme_stays_as_it_is(world: World, program: Program):
    world.add_batch("Wrens")

    assert program.patch(f"/programmes/{LAYER}/", {"jobs": []}, If_Match="*").status_code == 422
    assert ProgrammeVersion.objects.count() == 1


def test_a_helper_and_a_token_to_read_neither_copy_nor_change(world: World, own: RearingProgramme):
    for refused in (Program(world.add_member("Eve", "helper")), Program(world.by, "read")):
        assert refused.get(f"/programmes/{own.pk}/").status_code == 200
        assert refused.post(f"/programmes/{LAYER}/copies/", {"name": "Mine"}).status_code == 403
        assert refused.patch(f"/programmes/{own.pk}/", {"jobs": []}, If_Match="*").status_code == 403
    assert RearingProgramme.objects.filter(edited=True).count() == 1


def test_another_farms_programme_is_not_found(elsewhere: World, program: Program):
    theirs = programmes.copy(elsewhere.by, source=LAYER, name="Theirs")

    for reply in (
        program.get(f"/programmes/{theirs.pk}/"),
        program.get(f"/programme-versions/{theirs.versions.get().pk}/"),
        program.post(f"/programmes/{theirs.pk}/copies/", {"name": "Mine"}),
        program.patch(f"/programmes/{theirs.pk}/", {"jobs": []}, If_Match="*"),
        program.get("/programmes/nonsense/"),
        program.get(f"/programmes/{LAYER}/?version=9"),
    ):
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
    assert RearingProgramme.objects.filter(edited=True).count() == 1


def test_more_programmes_take_no_more_queries(world: World, own: RearingProgramme, program: Program):
    def queries() -> int:
        with CaptureQueriesContext(connection) as seen:
            assert program.get("/programmes/").status_code == 200
        return len(seen)

    world.add_batch("First")
    queries()
    few = queries()
    for number in range(4):
        programmes.copy(world.by, source=LAYER, name=f"More {number}")
        world.add_batch(f"More {number}")

    assert queries() == few
