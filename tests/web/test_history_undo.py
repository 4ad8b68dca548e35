"""Undoing from the page: what it shows first, what it refuses and says, who may."""

import pytest

from farm.models import Batch, CountEntry, HistoryEntry, Housing
from farm.services import counts, housings
from tests.conftest import TODAY
from tests.web.test_history_page import signed_in  # noqa: F401  (the fixture)


def newest():
    return HistoryEntry.objects.first()


def test_the_page_asks_first_and_shows_what_goes(signed_in, world):  # noqa: F811
    text = signed_in.get(f"/history/{newest().pk}/").content.decode()
    assert "Take this back?" in text
    assert "Pen 1" in text
    assert Housing.objects.filter(name="Pen 1").exists()


def test_undoing_takes_it_back_and_says_so(signed_in, world):  # noqa: F811
    answer = signed_in.post(f"/history/{newest().pk}/undo/", follow=True)
    assert "Undone: Housing Pen 1 added" in answer.content.decode()
    assert not Housing.objects.filter(name="Pen 1").exists()
    assert "This was undone." in answer.content.decode()


def test_a_thing_undone_already_is_not_offered_and_refused_plainly(signed_in, world):  # noqa: F811
    entry = newest()
    signed_in.post(f"/history/{entry.pk}/undo/")
    assert "Undo it" not in signed_in.get(f"/history/{entry.pk}/").content.decode()
    assert "This was already undone." in signed_in.post(f"/history/{entry.pk}/undo/").content.decode()
    assert HistoryEntry.objects.filter(undoes=entry).count() == 1


def test_a_thing_changed_since_is_refused_on_the_page_before_anyone_presses(signed_in, world):  # noqa: F811
    entry = newest()
    housings.change(world.by, housing_id=world.housing["Pen 1"].pk, expected_version=None, area_m2=13.0)
    text = signed_in.get(f"/history/{entry.pk}/").content.decode()
    assert "was changed again since" in text
    assert "Undo it" not in text
    assert "was changed again since" in signed_in.post(f"/history/{entry.pk}/undo/").content.decode()
    assert Housing.objects.get(name="Pen 1").area_m2 == 13.0


def test_an_undo_that_would_leave_fewer_than_no_birds_is_refused(signed_in, world):  # noqa: F811
    batch = world.add_batch("Spring", birds=10, housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="found", birds=5, day=TODAY)
    found = newest()
    counts.add(world.by, batch_id=batch.pk, kind="sold", birds=12, day=TODAY)
    answer = signed_in.post(f"/history/{found.pk}/undo/")
    assert "This cannot be undone now; nothing was changed." in answer.content.decode()
    assert sum(entry.birds for entry in CountEntry.objects.filter(batch=batch)) == 3


def test_what_undoing_breaks_on_the_board_is_said_first(signed_in, world):  # noqa: F811
    world.add_batch("Spring", birds=40, housing="Brooder 2")
    wide = world.housing["Brooder 2"]
    housings.change(world.by, housing_id=wide.pk, expected_version=None, area_m2=20.0)
    text = signed_in.get(f"/history/{newest().pk}/").content.decode()
    assert "On the board this would then be wrong:" in text
    assert Housing.objects.get(pk=wide.pk).area_m2 == 20.0


def test_a_count_is_taken_back_by_a_line_of_its_own(signed_in, world):  # noqa: F811
    batch = world.add_batch("Spring", birds=10, housing="Brooder 1")
    counts.add(world.by, batch_id=batch.pk, kind="died", birds=3, day=TODAY)
    signed_in.post(f"/history/{newest().pk}/undo/")
    assert list(CountEntry.objects.filter(batch=batch).values_list("kind", "birds")) == [
        ("arrived", 10),
        ("died", -3),
        ("reversed", 3),
    ]


def test_an_undo_can_be_undone(signed_in, world):  # noqa: F811
    signed_in.post(f"/history/{newest().pk}/undo/")
    signed_in.post(f"/history/{newest().pk}/undo/")
    assert Housing.objects.filter(name="Pen 1", area_m2=12.0).exists()


def test_a_change_of_people_is_not_offered_for_undo(signed_in, world):  # noqa: F811
    world.add_member("Cleo", "helper", login=False)
    assert "Take this back?" not in signed_in.get(f"/history/{newest().pk}/").content.decode()
    assert "cannot be undone" in signed_in.post(f"/history/{newest().pk}/undo/").content.decode()


@pytest.mark.parametrize("role", ["helper", "child"])
def test_others_read_it_and_are_not_offered_to_undo(signed_in, world, role):  # noqa: F811
    entry = newest()
    signed_in.force_login(world.add_member("Cleo", role).login)
    assert "Undo …" not in signed_in.get("/history/").content.decode()
    assert "Undo it" not in signed_in.get(f"/history/{entry.pk}/").content.decode()
    assert signed_in.post(f"/history/{entry.pk}/undo/").status_code == 403
    assert Housing.objects.filter(name="Pen 1").exists()


def test_undoing_needs_a_press_of_the_button(signed_in, world):  # noqa: F811
    assert signed_in.get(f"/history/{newest().pk}/undo/").status_code == 405
    assert not Batch.objects.exists()
