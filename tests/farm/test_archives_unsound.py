"""Archives whose records could each be and together cannot, or break a rule of the database: refused whole."""

from __future__ import annotations

import pytest

from farm.errors import BadInput
from farm.models import Batch
from tests.conftest import World
from tests.farm import archives_world as a
from tests.farm.test_archives_hostile import refusal
from tests.farm.test_archives_wrong_rows import Rows, setting


@pytest.fixture
def octets(world: World) -> bytes:
    return a.small(world)


def test_records_the_database_refuses_are_refused_with_its_rule(octets: bytes):
    said = refusal(a.with_rows(octets, "countentry", setting(kind="died")))

    assert said.startswith("Its records break a rule that every farm keeps: ")
    assert "count_entry_sign_fits_kind" in said


def test_a_ledger_below_zero_is_refused(octets: bytes):
    def eaten(rows: Rows) -> None:
        rows.append(rows[0] | {"id": rows[0]["id"] + 1, "kind": "died", "birds": -41})

    assert "fewer than no birds" in refusal(a.with_rows(octets, "countentry", eaten))


def test_a_ledger_is_brought_though_losses_are_numbered_before_what_came(octets: bytes):
    def backwards(rows: Rows) -> None:
        rows.insert(0, rows[0] | {"kind": "died", "birds": -39})
        rows[1]["id"] += 1

    farm = a.brought(a.with_rows(octets, "countentry", backwards))

    assert sum(Batch.objects.get(farm=farm).count_entries.values_list("birds", flat=True)) == 1


def test_records_that_each_could_be_and_together_cannot_are_refused(octets: bytes):
    def early(rows: Rows) -> None:
        rows[0]["start"] = "2026-01-01"

    said = refusal(a.with_rows(octets, "stay", early))

    assert said.startswith("Its records do not fit together: stay ")
    assert said.endswith("starts before its batch arrives")


def test_records_no_agenda_can_be_made_of_are_refused(octets: bytes):
    alert = {
        **{"id": 1, "kind": "cold", "key": "cold:1:1:2026-05-01", "batch_id": None, "housing_id": None},
        **{"day": "2026-05-01", "values": {}, "raised_at": "2026-05-01T10:00:00+00:00"},
        **{"withdrawn_at": None, "told_at": None, "taken_back_at": None},
    }

    said = refusal(a.with_rows(octets, "alert", lambda _rows: [alert]))

    assert said == "Its records do not fit together: no agenda can be made of them."


def test_two_records_of_one_number_are_refused(octets: bytes):
    said = refusal(
        a.with_rows(octets, "housing", lambda rows: [rows[0], rows[1] | {"id": rows[0]["id"]}, rows[2]])
    )

    assert "of “housing” holds what cannot be right" in said


def test_a_picture_that_is_none_is_refused(octets: bytes):
    found = a.entries(octets)
    (name,) = (one for one in found if one.startswith("files/"))

    said = refusal(a.summed({**found, name: b"<svg onload=alert(1)>"}))

    assert said == f"{name} in it is no picture that can be read."


def test_a_picture_without_a_record_and_a_record_without_its_picture_are_refused(octets: bytes):
    found = a.entries(octets)
    (name,) = (one for one in found if one.startswith("files/"))
    more = {**found, "files/markphoto/99.jpg": found[name]}
    less = {one: said for one, said in found.items() if one != name}

    text = "Its pictures and the records they belong to do not fit together."
    assert (refusal(a.summed(more)), refusal(a.summed(less))) == (text, text)


def test_a_farm_without_a_keeper_is_refused(octets: bytes):
    said = refusal(a.with_rows(octets, "member", setting(role="helper")))

    assert said == "Nobody in it is a keeper: there would be no one to plan and decide."


def test_a_keeper_it_does_not_have_is_refused_with_those_it_has(octets: bytes):
    before = a.counted()

    with pytest.raises(BadInput) as refused:
        a.brought(octets, as_member="Zoe")

    assert refused.value.fields == {"as_member": ["No keeper of that farm is called so. Its keepers: Ada."]}
    assert a.counted() == before
