"""What leaves with a farm: everything that is its own, nothing secret, the same octets for the same records."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest
from django.db import models

from calendars.models import CalendarLink
from farm.errors import NotAllowed
from farm.models import Channel, PersonalLink
from farm.queries.archives import numbers, shape, tables
from farm.services import counts, customers, history
from farm.services.archives.opening import Archive
from tests.conftest import TODAY, World
from tests.farm import archives_world as a

#: Texts and JSON of the records in which no other record is mentioned by number.
FREE = {
    "alert": {"kind", "values"},
    "assignment": {"round"},
    "away": {"note"},
    "batch": {"name", "species", "type", "breed", "sex", "source", "notes"},
    "change": {"model"},
    "choremark": {"round", "state", "title", "note", "client_key"},
    "countentry": {"kind", "note", "override_reason", "client_key"},
    "eggentry": {"kind", "client_key"},
    "eggset": {"name", "species", "type", "breed", "storage", "origin", "state", "notes"},
    "farm": {"name", "time_zone", "units", "move_weekdays"},
    "feed": {"name", "kind", "species", "delivery_weekdays", "notes"},
    "feedentry": {"kind", "note", "client_key"},
    "historyentry": {"face", "verb", "noun", "summary"},
    "hold": {"sex", "reason"},
    "housing": {"name", "whereabouts", "kind", "species", "light", "notes", "code"},
    "intake": {"from_whom", "species", "type", "breed", "sex", "way", "state", "notes"},
    "machine": {"name", "whereabouts", "does", "air", "species", "notes"},
    "member": {"name", "role", "rounds"},
    "observation": {"kind", "word", "note", "client_key"},
    "order": {"customer", "status", "deposit", "notes"},
    "orderline": {"breed", "sex"},
    "orderingrules": {"set_weekdays", "hatch_weekdays"},
    "orderseries": {"breed", "sex", "customer", "deposit", "notes"},
    "ownchore": {
        *("title", "repeat", "exceptions", "round", "place", "who", "needs", "asks", "checklist"),
    },
    "pin": {"round"},
    "plan": {"code", "kind", "state", "reason", "before", "bill", "proof", "error"},
    "postponement": {"round", "to_round", "reason"},
    "programmeversion": {"content", "digest", "note"},
    "rearingprogramme": {"name", "species", "type", "built_in"},
    "settingproposal": {"code"},
    "stay": {"override_reason"},
    "supplier": {"name", "weekdays", "notes"},
    "swap": {"give_round", "take_round", "state"},
    "waitingtime": {"what", "product", "note"},
    "weather": {"low_mean_c", "low_sd_c", "high_mean_c", "high_sd_c", "low_shape", "high_shape"},
}
#: "client_key" names an entry that a telephone sent, and opens nothing.
_SECRET = re.compile(r"token|secret|sha256|password|sealed|address|(?<!client_)key$|email|login")


def test_every_kind_of_record_of_a_farm_leaves_or_says_why_not():
    known = {shape.noun(model) for model in shape.of_a_farm()}
    thought_of = {name for name in shape.STAYS_BEHIND if "." not in name} | shape.LEAVES

    assert known - thought_of == set()
    assert not {name for name in shape.STAYS_BEHIND if "." not in name} & shape.LEAVES
    assert len(known) == len(shape.of_a_farm())  # no two kinds share a name, in whatever app they are


def test_every_column_that_stays_behind_is_there_to_stay():
    for name in shape.STAYS_BEHIND:
        noun, _dot, field = name.partition(".")
        if field:
            shape.exported()[noun]._meta.get_field(field)


def test_every_text_is_known_to_mention_no_record_or_how_it_does():
    for noun in shape.exported():
        texts = {
            column
            for column, field in shape.columns(noun).items()
            if isinstance(field, models.CharField | models.TextField | models.JSONField)
        }
        embedded = set(numbers.EMBEDDED.get(noun, {}))
        linked = {column for column in embedded if column in ("noun_id", "row")}
        assert texts == (embedded - linked) | FREE.get(noun, set()), noun
        assert not embedded & FREE.get(noun, set()), noun


def test_no_column_that_leaves_is_called_like_a_secret():
    named = [f"{noun}.{name}" for noun in shape.exported() for name in shape.columns(noun)]

    assert [name for name in named if _SECRET.search(name)] == ["alert.key"]


def test_nothing_secret_of_a_farm_with_one_of_everything_is_in_its_file(world: World):
    world.add_member("Hal", "helper")
    found = a.entries(a.taken(a.everything(world)))

    whole = b"".join(found.values())
    secrets = [
        *PersonalLink.objects.values_list("token_sha256", flat=True),
        *CalendarLink.objects.values_list("token_sha256", flat=True),
        *Channel.objects.values_list("address", flat=True),
        world.keeper.login.email,
        world.keeper.login.password,
        "hal.",
    ]
    assert len(secrets) > 5
    assert [one for one in secrets if one.encode() in whole] == []
    for row in a.rows_of(a.summed(found), "change"):
        if row["model"] not in shape.LEAVES:
            assert (row["row"], row["before"] or {}, row["after"] or {}) == (0, {}, {})


def test_the_same_farm_makes_the_same_octets(world: World):
    a.everything(world)

    assert a.taken(world) == a.taken(world)


def test_the_file_proves_itself_and_says_what_it_is(world: World):
    world.add_batch("Browns", housing="Brooder 1")

    octets = a.taken(world)

    archive = Archive(io.BytesIO(octets))
    about = json.loads(archive.octets("farm.json"))
    assert (about["format"], about["schema"], about["farm"]) == ("featherdays farm", 1, "Hollow Farm")
    assert about["nouns"]["batch"]["rows"] == 1
    assert about["nouns"]["batch"]["columns"] == list(shape.columns("batch"))
    assert set(about["stays_behind"]) == set(shape.STAYS_BEHIND)
    assert "What stays behind" in archive.octets("README.txt").decode()


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_a_keeper_takes_a_farm_along(world: World, role: str):
    hal = world.add_member("Hal", role)
    out = io.BytesIO()

    with pytest.raises(NotAllowed):
        a.archives.take(hal, out)

    assert out.getvalue() == b""


def test_a_forgotten_customer_is_nowhere_in_the_file(world: World):
    a.everything(world)
    assert b"Somebody" in b"".join(a.entries(a.taken(world)).values())

    customers.forget(world.by, customer="Somebody")

    assert b"Somebody" not in b"".join(a.entries(a.taken(world)).values())


def table(octets: bytes, name: str) -> list[list[str]]:
    return list(csv.reader(io.StringIO(a.entries(octets)[f"tables/{name}.csv"].decode("utf-8-sig"))))


def test_tables_name_things_and_speak_the_farms_time(world: World):
    batch = world.add_batch("Browns", housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY, note="a fox")

    titles, _arrived, died = table(a.taken(world), "count_ledger")

    assert titles[:4] == ["Day", "Batch", "What happened", "Birds"]
    assert died == ["2026-05-01", "Browns", "died", "-3", "", "Ada", "a fox", "", "2026-05-01 12:00"]


def test_no_cell_is_run_as_a_formula(world: World):
    world.add_batch('=HYPERLINK("http://evil.example")', notes="+1+1")

    row = table(a.taken(world), "batches")[1]

    assert row[0] == '\'=HYPERLINK("http://evil.example")'
    assert row[-1] == "'+1+1"
    assert [tables.guarded(cell) for cell in ("@x", "-3", "\tx", "'x", "x=1")] == [
        "'@x",
        "-3",
        "'\tx",
        "''x",
        "x=1",
    ]


def test_every_table_can_be_written_for_a_farm_with_one_of_everything(world: World):
    octets = a.taken(a.everything(world))

    lines = {name: len(table(octets, name)) for name in tables.TABLES}
    assert {name for name, count in lines.items() if count < 2} == set()


def test_history_that_was_undone_stays_in_it(world: World):
    batch = world.add_batch("Browns")
    history.undo(world.by, entry_id=history.HistoryEntry.objects.get(noun="batch", noun_id=batch.pk).pk)

    told = [row["summary"] for row in a.rows_of(a.taken(world), "historyentry")]

    assert told[-1].startswith("Undone: ")
