"""One write: all of it or nothing, one line of history, and the farm's version rises."""

from __future__ import annotations

import pytest

from farm.errors import NotAllowed, NotFound
from farm.models import Change, HistoryEntry, Housing
from farm.models.history import Face
from farm.models.member import Role
from farm.services.actor import Actor, system
from farm.services.writing import name_of, snapshot, write
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import everything, newest, refused, version


def housing(world: World, name: str = "Shed", **fields) -> Housing:
    return Housing(farm=world.farm, name=name, area_m2=3.0, code=name[:12], **fields)


def test_one_write_is_one_entry_with_every_row_it_touched(world: World):
    pen, brooder = world.housing["Pen 1"], world.housing["Brooder 2"]
    with write(world.by, "tidy", role=Role.KEEPER) as log:
        shed = housing(world)
        log.add(shed)
        log.change(pen, area_m2=13.0)
        log.remove(brooder)
        log.says(shed, "Tidied")

    entry = newest()
    assert (entry.verb, entry.summary, entry.noun, entry.noun_id) == ("tidy", "Tidied", "housing", shed.pk)
    assert (entry.member, entry.login, entry.face) == (world.keeper, world.keeper.login, Face.PAGE)
    assert entry.at == NOON
    added, changed, removed = entry.changes.all()
    assert (added.row, added.before, added.after["name"]) == (shed.pk, None, "Shed")
    assert (changed.before["area_m2"], changed.after["area_m2"]) == (12.0, 13.0)
    assert (removed.before["name"], removed.after) == ("Brooder 2", None)


def test_a_write_that_fails_halfway_saves_nothing(world: World):
    def act() -> None:
        with write(world.by, "break", role=Role.KEEPER) as log:
            log.add(housing(world))
            log.change(world.housing["Pen 1"], area_m2=13.0)
            log.add(housing(world, name="Pen 1"))

    assert refused(act) == {"": ["Another housing already has this name."]}


def test_an_accident_halfway_saves_nothing_either(world: World):
    before = everything()

    def act() -> None:
        with write(world.by, "break", role=Role.KEEPER) as log:
            log.add(housing(world))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        act()
    assert everything() == before


def test_a_write_that_changes_nothing_leaves_no_history_and_no_version(world: World):
    before = everything()

    with write(world.by, "look", role=Role.KEEPER) as log:
        assert log.change(world.housing["Pen 1"], area_m2=12.0, name="Pen 1") is False
        log.says(world.housing["Pen 1"], "Looked")

    assert everything() == before


def test_the_farms_version_rises_by_one_with_each_write_however_many_rows(world: World):
    was = version(world.farm)
    with write(world.by, "tidy", role=Role.KEEPER) as log:
        for name in ("One", "Two", "Three"):
            log.add(housing(world, name=name))

    assert version(world.farm) == was + 1


def test_another_farms_version_stays(world: World, elsewhere: World):
    was = version(elsewhere.farm)
    world.add_housing("Shed")

    assert version(elsewhere.farm) == was


def test_a_rows_version_rises_only_when_it_changes(world: World):
    pen = world.housing["Pen 1"]
    with write(world.by, "tidy", role=Role.KEEPER) as log:
        log.change(pen, area_m2=12.0)
        assert pen.version == 1
        log.change(pen, area_m2=13.0)
        assert pen.version == 2


@pytest.mark.parametrize(
    ("role", "needed", "may"),
    [
        (Role.KEEPER, Role.KEEPER, True),
        (Role.KEEPER, Role.CHILD, True),
        (Role.HELPER, Role.KEEPER, False),
        (Role.HELPER, Role.HELPER, True),
        (Role.CHILD, Role.HELPER, False),
        (Role.CHILD, Role.CHILD, True),
    ],
)
def test_a_role_below_the_needed_one_is_refused_before_anything_happens(
    world: World, role: str, needed: str, may: bool
):
    by = world.add_member("Sam", role)
    before = everything()

    def act() -> None:
        with write(by, "tidy", role=needed) as log:
            log.add(housing(world))

    if may:
        act()
        assert Housing.objects.filter(name="Shed").exists()
    else:
        with pytest.raises(NotAllowed, match="Ask one on your farm"):
            act()
        assert everything() == before


def test_the_system_itself_may_do_all_and_signs_with_no_member(world: World):
    with write(system(world.farm, face=Face.JOB, now=NOON), "tidy", role=Role.KEEPER) as log:
        log.add(housing(world))

    assert (newest().member, newest().login, newest().face) == (None, None, Face.JOB)


def test_a_farm_that_is_gone_is_not_found(world: World):
    ghost = Actor(farm_id=world.farm.pk + 99, face=Face.JOB, now=NOON, today=TODAY)

    with pytest.raises(NotFound), write(ghost, "tidy", role=Role.KEEPER):
        pass


def test_what_a_model_refuses_is_told_by_field(world: World):
    def act() -> None:
        with write(world.by, "tidy", role=Role.KEEPER) as log:
            log.add(housing(world, name="x" * 61))

    assert list(refused(act)) == ["name"]


def test_a_summary_longer_than_its_column_is_cut(world: World):
    with write(world.by, "tidy", role=Role.KEEPER) as log:
        shed = housing(world)
        log.add(shed)
        log.says(shed, "x" * 400)

    assert newest().summary == "x" * 300


def test_a_snapshot_holds_every_column_as_plain_json(world: World):
    batch = world.add_batch("Browns")

    found = snapshot(batch)

    assert set(found) == {field.attname for field in batch._meta.concrete_fields}
    assert (found["hatch_day"], found["leaves_on"], found["farm_id"]) == ("2026-04-17", None, world.farm.pk)
    assert name_of(batch) == "batch"


def test_history_keeps_entries_and_changes_in_the_order_they_were_made(world: World):
    world.add_batch("Browns", housing="Brooder 1")

    models = [change.model for change in Change.objects.filter(entry=newest()).order_by("pk")]
    assert models == ["batch", "countentry", "stay"]
    assert HistoryEntry.objects.first() == newest()
