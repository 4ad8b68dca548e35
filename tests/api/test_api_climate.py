"""Climate, outlook and advice over the API."""

from __future__ import annotations

import pytest

from farm.models import Batch, Weather
from farm.services import counts, housings, observations
from tests.api.api_world import Program, wrong
from tests.conftest import TODAY, World
from tests.farm.weather_world import HIGHS, LOWS, forecast, months, settle


def test_without_a_climate_there_is_none(program: Program):
    assert program.get("/climate/").status_code == 404
    assert program.get("/outlook/?from=2026-05-01&to=2026-05-02").status_code == 404


def test_the_climate_says_its_months_and_how_the_forecast_stands(world: World, program: Program):
    settle(world)

    shown = program.get("/climate/").json()

    assert (shown["low_mean_c"], shown["high_mean_c"]) == (LOWS, HIGHS)
    assert (shown["low_sd_c"], shown["confidence"], shown["use_forecast"]) == ([3.5] * 12, 0.9, False)
    assert (shown["learned_years"], shown["learned_on"]) == (0.0, None)
    assert (shown["forecast"]["asked"], shown["forecast"]["got_at"], shown["forecast"]["why"]) == (
        False,
        None,
        None,
    )


def test_a_keeper_enters_the_climate_and_how_sure_a_night_must_be(world: World, program: Program):
    first = program.put("/climate/", months(), If_Match="*")
    assert (first.status_code, first.json()["version"]) == (200, 1)

    assert program.patch("/climate/", {"confidence": 0.95, "use_forecast": False}).status_code == 428
    sure = program.patch("/climate/", {"confidence": 0.95, "use_forecast": False}, seen=first)
    late = program.put("/climate/", months(low_mean_c=[1.0] * 12), seen=first)

    assert (sure.json()["confidence"], late.status_code) == (0.95, 412)
    assert Weather.objects.get().low_mean_c == LOWS


@pytest.mark.parametrize(
    ("name", "value", "place"),
    [
        ("low_mean_c", [*LOWS[:11], -99.0], "#/low_mean_c/11"),
        ("low_sd_c", [-1.0, *[3.5] * 11], "#/low_sd_c/0"),
        ("high_mean_c", [-9.0, *HIGHS[1:]], "#/high_mean_c/0"),
        ("low_mean_c", LOWS[:11], "#/low_mean_c"),
        ("low_mean_c", [*LOWS[:11], "cold"], "#/low_mean_c/11"),
    ],
)
def test_months_no_place_has_are_refused_at_their_number(
    program: Program, name: str, value: list[float], place: str
):
    reply = program.put("/climate/", months(**{name: value}), If_Match="*")

    assert (reply.status_code, list(wrong(reply))) == (422, [place])
    assert not Weather.objects.exists()


def test_choices_that_cannot_be_are_refused_at_their_field(world: World, program: Program):
    program.put("/climate/", months(), If_Match="*")

    unsure = program.patch("/climate/", {"confidence": 0.2, "use_forecast": False}, If_Match="*")
    nowhere = program.patch("/climate/", {"confidence": 0.9, "use_forecast": True}, If_Match="*")

    assert (list(wrong(unsure)), list(wrong(nowhere))) == (["#/confidence"], ["#/use_forecast"])
    assert Weather.objects.get().use_forecast is False


def test_a_helper_and_a_token_to_read_change_no_climate(world: World):
    settle(world)

    for refused in (Program(world.add_member("Eve", "helper")), Program(world.by, "read")):
        assert refused.get("/climate/").status_code == 200
        assert refused.put("/climate/", months(low_mean_c=[1.0] * 12), If_Match="*").status_code == 403
        assert (
            refused.patch("/climate/", {"confidence": 0.95, "use_forecast": False}, If_Match="*").status_code
            == 403
        )
    assert (Weather.objects.get().low_mean_c, Weather.objects.get().confidence) == (LOWS, 0.9)


def test_each_farm_sees_its_own_climate(elsewhere: World, program: Program):
    settle(elsewhere)

    assert program.get("/climate/").status_code == 404
    program.put("/climate/", months(low_mean_c=[1.0] * 12), If_Match="*")
    assert Weather.objects.get(farm=elsewhere.farm).low_mean_c == LOWS


def test_the_outlook_follows_the_forecast_then_the_climate(world: World, program: Program):
    settle(world)
    forecast(world, {1: 2.0})

    rows = program.get("/outlook/?from=2026-05-02&to=2026-05-04").json()["items"]

    assert [(row["day"], row["foretold"]) for row in rows] == [("2026-05-02", True), ("2026-05-03", False)]
    assert rows[0]["low_middle_c"] == pytest.approx(2.0)
    for row in rows:
        assert row["low_cold_c"] < row["low_middle_c"] < row["low_warm_c"]


def test_the_outlook_is_paged_and_limited(world: World, program: Program):
    settle(world)

    first = program.get("/outlook/?from=2026-05-01&to=2026-05-11&limit=6").json()
    second = program.get(f"/outlook/?from=2026-05-01&to=2026-05-11&limit=6&cursor={first['next']}").json()

    assert [len(first["items"]), len(second["items"]), second["next"]] == [6, 4, None]
    for query in ("from=2026-05-01&to=2026-05-01", "from=2026-05-01&to=2026-09-01"):
        assert wrong(program.get(f"/outlook/?{query}")).keys() == {"to"}
    assert wrong(program.get("/outlook/?to=2026-05-02")).keys() == {"from"}


@pytest.fixture
def wrens(world: World) -> Batch:
    """40 birds of 14 days in Brooder 1."""
    return world.add_batch("Wrens", birds=40, housing="Brooder 1")


def test_cold_birds_are_advised_warmth(world: World, wrens: Batch, program: Program):
    observations.add(world.by, kind="temperature", batch_id=wrens.pk, value=20.0)

    warm = program.get(f"/batches/{wrens.pk}/advice/").json()["warm"]

    assert (warm["verdict"], warm["vet"]) == ("warmer", False)
    assert warm["change_c"] > 0
    assert warm["words"][0]


def test_a_weighing_is_judged_against_the_table(world: World, wrens: Batch, program: Program):
    observations.add(world.by, kind="weight", batch_id=wrens.pk, value=20.0, birds=10)

    weight = program.get(f"/batches/{wrens.pk}/advice/").json()["weight"]

    assert (weight["day"], weight["age_days"], weight["mean_g"]) == (str(TODAY), 14, 20.0)
    assert weight["verdict"] in ("light", "slip")
    assert weight["low_g"] < weight["expected_g"] < weight["high_g"]


def test_nights_put_going_out_off_where_a_climate_is_known(world: World, wrens: Batch, program: Program):
    by_age = program.get(f"/batches/{wrens.pk}/advice/").json()["outing"]
    settle(world)
    by_nights = program.get(f"/batches/{wrens.pk}/advice/").json()["outing"]

    assert (by_age["weather"], by_age["night_from"], by_age["places"]) == (False, by_age["by_age"], [])
    assert by_nights["weather"] is True
    assert by_nights["night_from"] >= by_nights["by_age"] == by_age["by_age"]
    assert [place["housing"] for place in by_nights["places"]] == ["Pen 1"]


def test_of_birds_that_are_gone_there_is_nothing_to_say(world: World, wrens: Batch, program: Program):
    counts.add(world.by, batch_id=wrens.pk, kind="sold", birds=40, day=TODAY)

    assert program.get(f"/batches/{wrens.pk}/advice/").json() == {
        "warm": None,
        "weight": None,
        "outing": None,
    }


def test_lamps_are_set_where_a_housing_has_a_light_programme(world: World, program: Program):
    settle(world)
    brooder = world.housing["Brooder 1"].pk
    dark = program.get(f"/housing/{brooder}/light/").json()
    housings.change(world.by, housing_id=brooder, expected_version=None, light="closed")
    batch = world.add_batch("Wrens", housing="Brooder 1")

    lit = program.get(f"/housing/{brooder}/light/").json()

    assert dark == {"batch_id": None, "settings": [], "notes": []}
    assert lit["batch_id"] == batch.pk
    first = lit["settings"][0]
    assert first["first_day"] == str(TODAY)
    assert first["off"] == "20:00:00"  # a closed house goes dark in the evening
    assert 6 < first["hours"] <= 24


def test_another_farms_batch_and_housing_are_not_found(elsewhere: World, program: Program):
    theirs, place = elsewhere.add_batch("Theirs"), elsewhere.add_housing("Theirs")

    for path in (f"/batches/{theirs.pk}/advice/", f"/housing/{place.pk}/light/"):
        reply = program.get(path)
        assert reply.status_code == 404
        assert b"Theirs" not in reply.content
