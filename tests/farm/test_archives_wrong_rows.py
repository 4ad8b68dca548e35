"""Archives whose zip is in order and whose records are not: refused whole, with the record, and nothing is saved."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import pytest

from farm.models import Batch, Farm, HistoryEntry, ProgrammeVersion
from farm.queries import programmes
from tests.conftest import World
from tests.farm import archives_world as a
from tests.farm.test_archives_hostile import refusal

Rows = list[dict[str, Any]]


@pytest.fixture
def octets(world: World) -> bytes:
    return a.small(world)


def setting(**fields: Any) -> Callable[[Rows], None]:
    """Return what sets columns of the first row."""

    def change(rows: Rows) -> None:
        rows[0].update(fields)

    return change


def test_the_archive_that_is_changed_below_is_brought_as_it_is(octets: bytes):
    assert Batch.objects.get(farm=a.brought(octets)).name == "Browns"
    assert (
        Batch.objects.get(farm=a.brought(a.with_rows(octets, "batch", setting(name="Greens")))).name
        == "Greens"
    )


@pytest.mark.parametrize(
    ("noun", "fields"),
    [
        ("batch", {"name": 7}),
        ("batch", {"name": None}),
        ("batch", {"name": "x" * 61}),
        ("batch", {"expected": 0}),
        ("batch", {"version": "1"}),
        ("batch", {"version": True}),
        ("batch", {"hatch_day": "1 May"}),
        ("batch", {"hatch_day": "20260501"}),
        ("batch", {"hatch_day": "2300-05-01"}),
        ("batch", {"arrived_on": "2036-05-01"}),
        ("batch", {"sex": "rooster"}),
        ("batch", {"species": "dragon"}),
        ("batch", {"id": -1}),
        ("batch", {"id": "1"}),
        ("countentry", {"birds": 1.5}),
        ("countentry", {"birds": 2**40}),
        ("countentry", {"created_at": "2026-05-01T10:00:00"}),
        ("farm", {"time_zone": "Mars/Olympus"}),
        ("farm", {"move_weekdays": {}}),
        ("farm", {"move_weekdays": [9]}),
        ("farm", {"morning_at": "7"}),
        ("housing", {"area_m2": "4"}),
        ("housing", {"species": [["chicken"]]}),
        ("member", {"rounds": [99]}),
        ("member", {"prefers": [None]}),
        ("change", {"after": []}),
        ("change", {"row": "1"}),
        ("change", {"after": {"id": "x"}}),
        ("programmeversion", {"content": {}}),
        ("programmeversion", {"content": None}),
    ],
)
def test_a_wrong_value_is_refused_with_its_record(octets: bytes, noun: str, fields: dict[str, Any]):
    number = fields.get("id", a.rows_of(octets, noun)[0]["id"])

    said = refusal(a.with_rows(octets, noun, setting(**fields)))

    assert said.startswith(f"Its record {number} of “{noun}” holds what cannot be right")


def test_a_programme_under_the_digest_of_another_never_reaches_other_farms(octets: bytes, world: World):
    def poisoned(rows: Rows) -> None:
        rows[0]["content"]["name"] = "Poisoned"

    said = refusal(a.with_rows(octets, "programmeversion", poisoned))

    assert said.endswith("holds what cannot be right (a digest of something else).")
    assert programmes.of_version(ProgrammeVersion.objects.get()).name == "Brown layer chicken"


@pytest.mark.parametrize(
    ("noun", "column", "target"),
    [("stay", "housing_id", "housing"), ("batch", "programme_version_id", "programmeversion")],
)
def test_a_record_that_points_outside_of_the_archive_is_refused(
    octets: bytes, elsewhere: World, noun: str, column: str, target: str
):
    far = elsewhere.add_housing("Far")
    elsewhere.add_batch("Theirs", housing="Far")
    theirs = far.pk if target == "housing" else ProgrammeVersion.objects.get(farm=elsewhere.farm).pk
    number = a.rows_of(octets, noun)[0]["id"]

    said = refusal(a.with_rows(octets, noun, setting(**{column: theirs})))

    assert said == f"Its record {number} of “{noun}” points to “{target}” {theirs}, which is not in it."


def test_a_mention_of_another_farms_thing_never_means_it(octets: bytes, elsewhere: World):
    theirs = elsewhere.add_batch("Theirs")

    def mentions(rows: Rows) -> None:
        rows[0]["noun"], rows[0]["noun_id"] = "batch", theirs.pk + 500

    farm = a.brought(a.with_rows(octets, "historyentry", mentions))

    entry = HistoryEntry.objects.filter(farm=farm).last()
    assert entry.noun == "batch"
    assert not Batch.objects.filter(pk=entry.noun_id).exists()


def test_a_farm_column_is_not_taken_from_a_row(octets: bytes, elsewhere: World):
    said = refusal(a.with_rows(octets, "batch", setting(farm_id=elsewhere.farm.pk)))

    assert said == "Its records called “batch” have a column “farm_id”, which we don't know."


@pytest.mark.parametrize("noun", ["login", "personallink", "calendarlink", "apitoken", "cats"])
def test_records_that_never_leave_never_come(octets: bytes, noun: str):
    said = refusal(_with_kind(octets, noun))

    assert said == f"It has records called “{noun}”, which we don't know."


def _with_kind(octets: bytes, noun: str) -> bytes:
    found = a.entries(octets)
    about = json.loads(found["farm.json"])
    about["nouns"][noun] = {"columns": ["id"], "rows": 1}
    return a.summed({**found, "farm.json": json.dumps(about).encode(), f"rows/{noun}.jsonl": b'{"id":1}\n'})


def test_a_login_in_the_history_of_a_member_never_comes(octets: bytes, elsewhere: World):
    def takeover(rows: Rows) -> None:
        for row in rows:
            if row["model"] == "member":
                row["after"]["login_id"] = elsewhere.keeper.login_id

    farm = a.brought(a.with_rows(octets, "change", takeover))

    entry = HistoryEntry.objects.filter(farm=farm, verb="start farm").get()
    assert [change.after["login_id"] for change in entry.changes.all()] == [None]


@pytest.mark.parametrize(
    ("said", "why"),
    [
        (b"{", "cannot be read"),
        (b'{"id":1,"id":2}', "cannot be read"),
        (b'{"id":NaN}', "cannot be read"),
        (b'{"id":"\\u0000"}', "cannot be read"),
        (b'{"id":"\\ud800"}', "cannot be read"),
        (b'{"id":1e999}', "cannot be read"),
        (b'{"id":' + b"9" * 30 + b"}", "cannot be read"),
        (b'{"id":' + b"[" * 60 + b"]" * 60 + b"}", "cannot be read"),
        (b'{"id":' + b"[" * 50_000 + b"]" * 50_000 + b"}", "cannot be read"),
        (b"\xff", "cannot be read"),
        (b"[1]", "has other columns than the archive says"),
        (b'{"id":1}', "has other columns than the archive says"),
    ],
)
def test_a_line_that_is_no_record_is_refused(octets: bytes, said: bytes, why: str):
    found = a.entries(octets)
    found["rows/batch.jsonl"] = said + b"\n"

    assert refusal(a.summed(found)) == f"rows/batch.jsonl:1 in it {why}."


def test_fewer_records_than_it_says_are_refused(octets: bytes):
    found = a.entries(octets)
    found["rows/batch.jsonl"] = b""

    assert refusal(a.summed(found)) == "rows/batch.jsonl in it has 0 records instead of 1."


@pytest.mark.parametrize("farms", [0, 2])
def test_it_holds_one_farm(octets: bytes, farms: int):
    def many(rows: Rows) -> Rows:
        return [rows[0] | {"id": number} for number in range(1, farms + 1)]

    assert refusal(a.with_rows(octets, "farm", many)) == f"It must hold one farm, not {farms}."


@pytest.mark.parametrize(
    "about",
    [b"[]", b"{}", b'{"format":"cats"}', b'{"format":"featherdays farm","schema":"1"}', b"\xff"],
)
def test_what_does_not_say_what_it_is_is_refused(octets: bytes, about: bytes):
    before = Farm.objects.count()

    said = refusal(a.summed({**a.entries(octets), "farm.json": about}))

    assert said in (
        "This .zip is no archive of a farm.",
        "farm.json in it does not say what it should.",
        "farm.json in it cannot be read.",
    )
    assert Farm.objects.count() == before
