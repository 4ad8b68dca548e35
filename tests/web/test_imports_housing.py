"""Importing housing from a table: what is read, what is refused at its cell, and that it is all or nothing."""

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile

from farm.models import HistoryEntry, Housing
from farm.services import history
from tests.conftest import NOON

TABLE = "name,kind,area m²,heat\nCellar,brooder,2.5,yes\nOrchard,pen,12,no\n"


@pytest.fixture
def page(world, client):
    """Give a function that posts a table as the keeper, on the world's own day."""
    client.force_login(world.keeper.login)

    def post(text="", *, save=False, seen="", file=None, what="housing"):
        data = {"what": what, "text": text, "seen": seen, "save" if save else "look": "1"}
        if file is not None:
            data["file"] = SimpleUploadedFile("table.csv", file)
        return client.post("/import/", data)

    def look_and_save(text, what="housing"):
        looked = post(text, what=what)
        return post(text, save=True, seen=looked.context["form"].data["seen"], what=what)

    post.save = look_and_save
    with time_machine.travel(NOON, tick=False):
        yield post


def cell(response, line, name):
    return next(row for row in response.context["looked"].preview.rows if row.line == line).cells[name]


def test_looking_a_table_through_shows_its_rows_and_saves_nothing(page):
    answer = page(TABLE)
    assert cell(answer, 2, "area_m2").shown == "2.50 m²"
    assert "Save 2 rows" in answer.content.decode()
    assert Housing.objects.count() == 3


def test_saving_what_was_looked_through_adds_every_row_in_one_history_entry(page, world):
    before = HistoryEntry.objects.count()
    assert page.save(TABLE).status_code == 302
    cellar = Housing.objects.get(name="Cellar")
    assert (cellar.farm, cellar.kind, cellar.area_m2, cellar.heated) == (world.farm, "brooder", 2.5, True)
    assert Housing.objects.filter(name="Orchard", kind="pen", heated=False).exists()
    assert HistoryEntry.objects.count() == before + 1
    assert HistoryEntry.objects.first().summary == "2 housings imported"


def test_what_the_table_leaves_open_is_shown_before_it_is_saved(page):
    answer = page("name,area\nCellar,3\n")
    assert [
        (cell(answer, 2, name).shown, cell(answer, 2, name).assumed) for name in ("kind", "heated", "indoor")
    ] == [
        ("brooder", True),
        ("yes", True),
        ("yes", True),
    ]


def test_a_table_changed_after_it_was_looked_through_is_shown_again_and_not_saved(page):
    seen = page(TABLE).context["form"].data["seen"]
    answer = page(TABLE + "Loft,pen,3,no\n", save=True, seen=seen)
    assert "changed since you looked" in answer.content.decode()
    assert Housing.objects.count() == 3


def test_one_wrong_cell_keeps_every_row_out_and_the_text_in_the_box(page):
    text = TABLE + "Loft,pen,much,no\n"
    answer = page.save(text)
    assert cell(answer, 4, "area_m2").problems == ["“much” is not a number."]
    assert answer.context["form"]["text"].value() == text
    assert "line 4" in answer.content.decode()
    assert Housing.objects.count() == 3


def test_a_name_the_farm_has_already_is_refused_at_its_cell(page):
    answer = page.save("name,area\nBrooder 1,3\n")
    assert cell(answer, 2, "name").problems == ["Another housing already has this name."]
    assert Housing.objects.count() == 3


def test_a_name_twice_in_the_table_is_refused_at_the_second(page):
    answer = page("name,area\nLoft,3\nLoft,4\n")
    assert cell(answer, 2, "name").problems == []
    assert cell(answer, 3, "name").problems == ["A row above already has this name."]


def test_a_rule_of_the_model_is_refused_at_its_cell(page):
    answer = page("name,area,in use from\nLoft,3,1960-01-01\n")
    assert cell(answer, 2, "in_service_from").problems == ["1 January 1960 cannot be right. Check the year."]


def test_square_feet_are_read_on_a_metric_farm_when_the_header_says_so(page):
    page.save("name,area (ft²)\nCellar,100\n")
    assert Housing.objects.get(name="Cellar").area_m2 == pytest.approx(9.290304)


def test_numbers_are_read_in_the_farms_own_units_without_a_word_in_the_header(page, world):
    world.farm.units = "us"
    world.farm.save()
    page.save("name,area,feeder\nCellar,100,10\n")
    cellar = Housing.objects.get(name="Cellar")
    assert (cellar.area_m2, cellar.feeder_cm) == (pytest.approx(9.290304), pytest.approx(25.4))


def test_metres_are_read_on_a_us_farm_when_the_header_says_so(page, world):
    world.farm.units = "us"
    world.farm.save()
    page.save("name,area_m2\nCellar,4\n")
    assert Housing.objects.get(name="Cellar").area_m2 == 4.0


def test_an_uploaded_file_goes_before_the_box_and_is_shown_there(page):
    answer = page("name,area\nLoft,3\n", file=b"\xef\xbb\xbfname;area\nKeller;2,5\n")
    assert cell(answer, 2, "area_m2").shown == "2.50 m²"
    assert answer.context["form"]["text"].value() == "name;area\nKeller;2,5\n"


def test_a_file_in_an_old_code_page_keeps_its_letters(page):
    answer = page(file="name;area\nKüken über dem Hof;2\n".encode("latin-1"))
    assert cell(answer, 2, "name").typed == "Küken über dem Hof"


def test_a_file_over_a_megabyte_is_refused_at_the_file(page):
    answer = page("kept", file=b"name,area\n" + b"x" * 1_000_000)
    assert answer.context["form"].errors["file"] == ["This is more than 1 MB. Import it in parts."]
    assert answer.context["form"]["text"].value() == "kept"


def test_more_than_five_hundred_housings_are_refused(page):
    answer = page("name,area\n" + "".join(f"P{n},1\n" for n in range(501)))
    assert answer.context["looked"].preview.problems == ["Import 500 rows at most at a time."]


def test_nothing_at_all_is_said_at_the_box(page):
    assert page("  \n").context["form"].errors["text"] == ["Paste a table or choose a file."]


def test_an_import_can_be_undone_as_a_whole(page, world):
    page.save(TABLE)
    history.undo(world.by, entry_id=HistoryEntry.objects.first().pk)
    assert sorted(Housing.objects.values_list("name", flat=True)) == ["Brooder 1", "Brooder 2", "Pen 1"]
