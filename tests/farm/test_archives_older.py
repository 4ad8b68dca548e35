"""Archives of other versions: older ones are brought to today's shape, newer ones are refused with the reason."""

from __future__ import annotations

import json
from typing import Any

import pytest

from farm.errors import BadInput
from farm.models import Batch, Housing
from farm.services.archives import upgrades
from tests.conftest import World
from tests.farm import archives_world as a
from tests.farm.test_archives_hostile import refusal


@pytest.fixture
def octets(world: World) -> bytes:
    world.add_batch("Browns", housing="Brooder 1", breed="Sussex", notes="tame")
    return a.taken(world)


def of_schema(octets: bytes, schema: int) -> bytes:
    found = a.entries(octets)
    about = json.loads(found["farm.json"]) | {"schema": schema}
    return a.summed({**found, "farm.json": json.dumps(about).encode()})


def lacking(octets: bytes, noun: str, column: str) -> bytes:
    """Return the archive as a Featherdays wrote it that did not have a column yet."""

    def before(rows: list[dict[str, Any]]) -> None:
        for row in rows:
            del row[column]

    return a.with_rows(octets, noun, before)


def test_a_column_that_came_later_takes_its_default(octets: bytes):
    older = lacking(lacking(octets, "batch", "breed"), "housing", "whereabouts")

    farm = a.brought(older)

    batch = Batch.objects.get(farm=farm)
    assert (batch.breed, batch.notes) == ("", "tame")
    assert set(Housing.objects.filter(farm=farm).values_list("whereabouts", flat=True)) == {""}


def test_a_column_without_which_no_record_can_be_is_missed(octets: bytes):
    assert refusal(lacking(octets, "batch", "hatch_day")) == "Its records called “batch” lack “hatch_day”."


def test_a_kind_of_record_that_came_later_may_be_missing(octets: bytes):
    found = a.entries(octets)
    about = json.loads(found["farm.json"])
    del about["nouns"]["lineodds"], found["rows/lineodds.jsonl"]
    older = a.summed({**found, "farm.json": json.dumps(about).encode()})

    assert Batch.objects.get(farm=a.brought(older)).name == "Browns"


def test_a_newer_archive_is_refused_with_the_reason(octets: bytes):
    assert refusal(of_schema(octets, 2)) == (
        "It was written by a newer Featherdays (its records are of kind 2, this program reads up to 1). Update this"
        " one, then bring the farm."
    )


def test_schemas_are_upgraded_one_after_the_other():
    def renamed(rows: upgrades.Rows) -> upgrades.Rows:
        return {"coop": [{"title": row["name"]} for row in rows["coop"]]}

    def moved(rows: upgrades.Rows) -> upgrades.Rows:
        return {"housing": [{**row, "heated": False} for row in rows["coop"]]}

    chain = {1: renamed, 2: moved}

    assert upgrades.upgraded({"coop": [{"name": "A"}]}, 1, chain=chain, newest=3) == {
        "housing": [{"title": "A", "heated": False}]
    }
    assert upgrades.upgraded({"coop": [{"title": "A"}]}, 2, chain=chain, newest=3) == {
        "housing": [{"title": "A", "heated": False}]
    }
    assert upgrades.upgraded({"coop": [{"name": "A"}]}, 3, chain=chain, newest=3) == {"coop": [{"name": "A"}]}


def test_a_schema_nobody_reads_any_more_is_refused():
    with pytest.raises(BadInput, match=r"Its records are of kind 1, which nobody reads any more\."):
        upgrades.upgraded({}, 1, chain={2: lambda rows: rows}, newest=3)
