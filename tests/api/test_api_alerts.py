"""Alerts over the API: those that hold, in words, a spell told once."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from farm.models import Alert, Batch
from tests.api.api_world import Program
from tests.conftest import NOON, TODAY, World


def cold(world: World, batch: Batch, day: int, **fields: Any) -> Alert:
    """Store an alert of a cold night so many days from TODAY."""
    usual = {
        "kind": "cold",
        "key": f"cold {batch.pk} {day}",
        "housing": world.housing.get("Pen 1"),
        "values": {"low_c": 2.0, "outside_c": 8.0},
        "raised_at": NOON,
    }
    return Alert.objects.create(
        farm=world.farm, batch=batch, day=TODAY + timedelta(days=day), **usual | fields
    )


def test_a_spell_is_told_once_in_words_while_it_holds(world: World, program: Program):
    wrens, robins = world.add_batch("Wrens"), world.add_batch("Robins")
    first, _second = cold(world, wrens, 1), cold(world, wrens, 2)
    cold(world, robins, 1, withdrawn_at=NOON)

    (told,) = program.get("/alerts/").json()["items"]

    assert (told["id"], told["kind"], told["day"], told["more_days"]) == (
        first.pk,
        "cold",
        "2026-05-02",
        ["2026-05-03"],
    )
    assert (told["batch_id"], told["housing_id"]) == (wrens.pk, world.housing["Pen 1"].pk)
    assert told["words"].startswith("Wrens in Pen 1, cold in the night of 2 May")
    assert program.get(f"/alerts/?batch_id={robins.pk}").json()["items"] == []


def test_another_farms_alerts_are_not_told(elsewhere: World, program: Program):
    cold(elsewhere, elsewhere.add_batch("Theirs"), 1)

    assert program.get("/alerts/").json()["items"] == []
