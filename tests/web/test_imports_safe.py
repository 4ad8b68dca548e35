"""Whatever is sent to the import page: it answers, and writes nothing unless every row is right."""

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from farm.models import Batch, HistoryEntry, Housing
from tests.web.test_imports_housing import page  # noqa: F401  (the fixture)

LOOSE = settings(
    max_examples=60,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)
HEADS = {
    "housing": "name,area,heat,in use from,species\n",
    "batches": "name,programme,birds,hatch day,housing\n",
}
TYPED = st.sampled_from(
    [
        "",
        "Loft",
        "Brooder 1",
        "3",
        "-1",
        "1e9",
        "9" * 40,
        "yes",
        "duck",
        "2026-05-01",
        "0001-01-01",
        "'",
        '"',
        "=1+1",
        "²",
    ]
)


def counts():
    return Housing.objects.count(), Batch.objects.count(), HistoryEntry.objects.count()


@LOOSE
@given(data=st.binary(max_size=400), what=st.sampled_from(["housing", "batches", "cats"]))
def test_any_bytes_are_answered_and_never_written(page, client, data, what):  # noqa: F811
    before = counts()
    file = SimpleUploadedFile("table.csv", data)
    answer = client.post("/import/", {"what": what, "save": "1", "seen": "", "file": file})
    assert answer.status_code == 200
    assert counts() == before


@LOOSE
@given(rows=st.lists(st.lists(TYPED, min_size=1, max_size=7), max_size=4), what=st.sampled_from(list(HEADS)))
def test_any_cells_under_a_right_header_are_answered_and_never_half_written(page, rows, what):  # noqa: F811
    before = counts()
    answer = page(HEADS[what] + "\n".join(",".join(row) for row in rows), what=what)
    assert answer.status_code == 200
    assert counts() == before


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_import(world, client, role):
    client.force_login(world.add_member("Cleo", role).login)
    assert client.get("/import/").status_code == 403
    assert client.post("/import/", {"what": "housing", "text": "name,area\nLoft,3\n"}).status_code == 403
    assert Housing.objects.count() == 3


def test_nobody_is_sent_to_sign_in(world, client):
    assert client.get("/import/").status_code == 302


@pytest.mark.parametrize("what", ["housing", "batches"])
def test_the_example_file_is_imported_as_it_is(page, client, world, what):  # noqa: F811
    Housing.objects.all().delete()
    data = {key: client.get(f"/import/example/{key}.csv").content.decode() for key in HEADS}
    for key in list(HEADS)[: list(HEADS).index(what) + 1]:
        assert page.save(data[key], what=key).status_code == 302
    assert (Housing.objects.count(), Batch.objects.count()) == (3, 2 if what == "batches" else 0)


def test_what_the_farm_has_is_sent_out_with_formulas_disarmed_and_read_back(page, client, world):  # noqa: F811
    world.add_housing("=cmd|'/c calc'!A1", area_m2=2.5, species=["duck", "goose"])
    sent = client.get("/import/present/housing.csv").content.decode()
    assert "'=cmd" in sent
    Housing.objects.all().delete()
    page.save(sent)
    back = Housing.objects.get(name="=cmd|'/c calc'!A1")
    assert (back.area_m2, back.species, back.heated) == (2.5, ["duck", "goose"], True)


def test_another_farms_rows_are_not_sent_out(page, client, world, elsewhere):  # noqa: F811
    elsewhere.add_housing("Far brooder")
    elsewhere.add_batch("Far chicks", housing="Far brooder")
    for what in HEADS:
        assert "Far" not in client.get(f"/import/present/{what}.csv").content.decode()


def test_an_unknown_table_is_not_found(page, client, world):  # noqa: F811
    assert client.get("/import/example/cats.csv").status_code == 404
