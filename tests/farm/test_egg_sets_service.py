"""Setting eggs, changing and cancelling sets: what is expected of them follows; every refusal at its field."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import pytest

from farm.errors import NotAllowed, Stale
from farm.models import Batch, CountEntry, EggSet, HistoryEntry, Stay
from farm.queries import hatching, heads, soundness
from farm.services import egg_entries, egg_sets, machines, stays
from tests.conftest import TODAY, World
from tests.farm.egg_world import cabinet, day, on, put_in, refused


def change(world: World, egg_set: EggSet, **fields: Any) -> EggSet:
    return egg_sets.change(world.by, egg_set_id=egg_set.pk, expected_version=None, **fields)


def change_refused(world: World, egg_set: EggSet, **fields: Any) -> dict[str, list[str]]:
    return refused(egg_sets.change, world.by, egg_set_id=egg_set.pk, expected_version=None, **fields)


def set_refused(world: World, **fields: Any) -> dict[str, list[str]]:
    fields = {"programme": "chicken_layer_brown", "eggs": 40, "set_on": TODAY} | fields
    return refused(egg_sets.set_eggs, world.by, new=egg_sets.NewEggSet(**fields))


def test_an_egg_set_has_the_batch_it_will_hatch_from_the_start(world: World):
    egg_set = put_in(world, cabinet(world), 40, breed=" Marans ", housing_id=world.housing["Brooder 1"].pk)

    batch = Batch.objects.get()
    assert (egg_set.name, egg_set.batch, egg_set.state) == ("E1", batch, "open")
    assert (batch.name, batch.expected, batch.source, batch.breed) == ("E1", True, "own_hatch", "Marans")
    assert (batch.hatch_day, batch.arrived_on) == (day(21), day(21))
    # 40 eggs at the table's 0.70 a hen's egg
    assert [(line.kind, line.birds, line.day) for line in CountEntry.objects.all()] == [
        ("hatched", 28, day(21))
    ]
    assert [(stay.birds, stay.start, stay.end, stay.actual) for stay in Stay.objects.all()] == [
        (28, day(21), None, False)
    ]
    assert soundness.problems(world.farm) == []


def test_the_history_says_how_many_eggs_were_set_where(world: World):
    put_in(world, cabinet(world))

    assert HistoryEntry.objects.order_by("-pk")[0].summary == "Egg set E1: 40 eggs in Cabinet 1 on 1 May 2026"


def test_unnamed_sets_are_counted_on_and_their_batches_never_share_a_name(world: World):
    machine = cabinet(world)
    world.add_batch("E2")

    names = [put_in(world, machine, 5).name for _ in range(3)]

    assert names == ["E1", "E2", "E3"]
    assert set(Batch.objects.values_list("name", flat=True)) == {"E2", "E1", "E2 2", "E3"}


def test_the_day_of_set_is_the_farms_day_of_the_instant(world: World):
    just_after_midnight_in_berlin = datetime(2026, 4, 30, 22, 30, tzinfo=UTC)

    egg_set = put_in(world, cabinet(world), set_at=just_after_midnight_in_berlin, set_on=day(-3))

    assert (egg_set.set_on, egg_set.set_at) == (TODAY, just_after_midnight_in_berlin)


def test_fewer_chicks_are_expected_of_eggs_stored_long(world: World):
    machine = cabinet(world)

    put_in(world, machine, 30, stored_days=13)

    # 0.70 less 0.01 for each of the six days beyond a week
    assert CountEntry.objects.get().birds == 20


@pytest.mark.parametrize(
    ("fields", "field"),
    [
        ({"eggs": 0}, "eggs"),
        ({"eggs": 10_001}, "eggs"),
        ({"set_on": day(401)}, "set_on"),
        ({"set_on": day(-24)}, "set_on"),
        ({"stored_days": -1}, "stored_days"),
        ({"stored_days": 15}, "stored_days"),
        ({"stored_days": 22, "storage_reason": "the last of the line"}, "stored_days"),
        ({"setter_id": None}, "setter_id"),
        ({"programme": "unicorn"}, "programme"),
    ],
)
def test_an_egg_set_that_cannot_be_is_refused_at_its_field(world: World, fields: dict[str, Any], field: str):
    fields = {"setter_id": cabinet(world, medium_eggs=20_000).pk} | fields

    assert list(set_refused(world, **fields)) == [field]


def test_eggs_set_weeks_ago_may_be_recorded_until_they_are_out(world: World):
    egg_set = put_in(world, cabinet(world), set_on=day(-23))

    assert hatching.row(egg_set, TODAY).state == "overdue"


def test_eggs_stored_too_long_are_set_with_a_reason_that_is_kept(world: World):
    egg_set = put_in(
        world, cabinet(world), stored_days=15, storage="12 °C", storage_reason="the last of the line"
    )

    assert egg_set.storage == "12 °C; the last of the line"
    assert change(world, egg_set, notes="turned").notes == "turned"
    assert list(change_refused(world, egg_set, stored_days=16)) == ["stored_days"]


def test_a_full_machine_refuses_more_eggs_and_says_how_many_too_many(world: World):
    machine = cabinet(world, medium_eggs=60)
    put_in(world, machine, 40)

    said = set_refused(world, setter_id=machine.pk, eggs=32)

    assert list(said) == ["eggs"]
    assert said["eggs"][0].startswith("Cabinet 1 is too full by 12 eggs")


def test_eggs_still_turned_are_not_set_beside_eggs_that_hatch(world: World):
    machine = cabinet(world)
    put_in(world, machine, 20)

    assert list(set_refused(world, setter_id=machine.pk, eggs=20, set_on=day(14))) == ["set_on"]


def test_a_cancelled_set_fills_no_machine(world: World):
    machine = cabinet(world)
    egg_sets.cancel(world.by, egg_set_id=put_in(world, machine, 60).pk)

    assert put_in(world, machine, 60).eggs == 60


def test_a_machine_that_cannot_take_the_eggs_is_refused_where_it_was_chosen(world: World):
    both, setter = cabinet(world), cabinet(world, "Setter", does="setter")
    hatcher = cabinet(world, "Hatcher", does="hatcher")
    ducks = cabinet(world, "Ducks only", species=["duck"], large_eggs=60)

    assert list(set_refused(world, setter_id=hatcher.pk)) == ["setter_id"]
    assert list(set_refused(world, setter_id=setter.pk)) == ["hatcher_id"]
    assert list(set_refused(world, setter_id=both.pk, hatcher_id=setter.pk)) == ["hatcher_id"]
    assert list(set_refused(world, setter_id=ducks.pk)) == ["setter_id"]
    assert list(set_refused(world, setter_id=setter.pk, hatcher_id=ducks.pk)) == ["hatcher_id"]
    assert list(set_refused(world, setter_id=both.pk, programme="duck")) == ["setter_id"]
    assert put_in(world, setter, hatcher_id=hatcher.pk).hatcher == hatcher


def test_moving_the_set_day_moves_the_batch_its_line_and_its_stays(world: World):
    brooder, pen = world.housing["Brooder 1"], world.housing["Pen 1"]
    egg_set = put_in(world, cabinet(world), 40, set_on=day(5), housing_id=brooder.pk)
    batch = egg_set.batch
    first = Stay.objects.get()
    stays.change(world.by, stay_id=first.pk, expected_version=None, end=day(76))
    stays.add(world.by, batch_id=batch.pk, housing_id=pen.pk, birds=28, start=day(76), end=None)

    change(world, egg_set, set_on=day(9))

    batch.refresh_from_db()
    assert (batch.hatch_day, batch.arrived_on) == (day(30), day(30))
    assert [(stay.start, stay.end) for stay in Stay.objects.all()] == [(day(30), day(80)), (day(80), None)]
    assert heads.alive_on(batch, day(29)) == 0
    assert heads.alive_on(batch, day(30)) == 28
    assert soundness.problems(world.farm) == []


def test_a_pinned_stay_keeps_its_days_when_the_set_day_moves(world: World):
    brooder, pen = world.housing["Brooder 1"], world.housing["Pen 1"]
    egg_set = put_in(world, cabinet(world), 40, set_on=day(5), housing_id=brooder.pk)
    stays.change(world.by, stay_id=Stay.objects.get().pk, expected_version=None, end=day(76))
    stays.add(
        world.by,
        batch_id=egg_set.batch.pk,
        housing_id=pen.pk,
        birds=28,
        start=day(76),
        end=day(90),
        pinned=True,
    )

    change(world, egg_set, set_on=day(1))

    assert [(stay.start, stay.end) for stay in Stay.objects.all()] == [(day(22), day(76)), (day(76), day(90))]


def test_a_set_day_that_would_bring_chicks_into_a_housing_not_yet_in_use_is_refused(world: World):
    late = world.add_housing("Brooder 3", in_service_from=day(20))
    egg_set = put_in(world, cabinet(world), set_on=day(5), housing_id=late.pk)

    assert list(change_refused(world, egg_set, set_on=day(-2))) == ["housing_id"]


def test_a_set_day_that_would_leave_young_chicks_in_the_cold_is_refused(world: World):
    egg_set = put_in(world, cabinet(world), set_on=day(5), housing_id=world.housing["Brooder 1"].pk)
    stays.change(world.by, stay_id=Stay.objects.get().pk, expected_version=None, end=day(76))
    pen = {"housing_id": world.housing["Pen 1"].pk, "start": day(76), "end": None, "pinned": True}
    stays.add(world.by, batch_id=egg_set.batch.pk, birds=28, **pen)

    assert list(change_refused(world, egg_set, set_on=day(45))) == ["housing_id"]
    assert change(world, egg_set, set_on=day(8)).set_on == day(8)


def test_more_eggs_raise_what_is_expected_and_its_stay(world: World):
    egg_set = put_in(world, cabinet(world), 40, housing_id=world.housing["Brooder 1"].pk)

    change(world, egg_set, eggs=50)

    assert heads.alive_on(egg_set.batch, day(21)) == 35
    assert Stay.objects.get().birds == 35


def test_a_set_is_moved_to_another_machine_when_that_has_room(world: World):
    one, other = cabinet(world), cabinet(world, "Cabinet 2", medium_eggs=30)
    egg_set = put_in(world, one, 40)

    assert list(change_refused(world, egg_set, setter_id=other.pk, hatcher_id=other.pk)) == ["eggs"]
    machines.change(world.by, machine_id=other.pk, expected_version=None, medium_eggs=40)
    assert change(world, egg_set, setter_id=other.pk, hatcher_id=other.pk).hatcher == other


def test_candled_eggs_hold_the_number_and_the_day_of_a_set(world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-8))
    egg_entries.record(world.by, egg_set_id=egg_set.pk, counts={"clear": 9}, day=day(-1))

    assert list(change_refused(world, egg_set, eggs=8)) == ["eggs"]
    assert list(change_refused(world, egg_set, set_on=day(0))) == ["set_on"]
    assert change(world, egg_set, eggs=9).eggs == 9


def test_a_form_of_an_egg_set_opened_before_a_change_overwrites_nothing(world: World):
    egg_set = put_in(world, cabinet(world))
    change(world, egg_set, eggs=41)

    with pytest.raises(Stale):
        egg_sets.change(world.by, egg_set_id=egg_set.pk, expected_version=1, eggs=42)
    with pytest.raises(Stale):
        egg_sets.cancel(world.by, egg_set_id=egg_set.pk, expected_version=1)


def test_cancelling_takes_the_batch_with_its_count_and_stay(world: World):
    egg_set = put_in(world, cabinet(world), housing_id=world.housing["Brooder 1"].pk)

    egg_sets.cancel(world.by, egg_set_id=egg_set.pk)

    egg_set.refresh_from_db()
    assert (egg_set.state, egg_set.batch) == ("cancelled", None)
    assert not Batch.objects.exists()
    assert not Stay.objects.exists()
    assert soundness.problems(world.farm) == []


def test_a_cancelled_set_keeps_its_days_and_eggs_but_may_be_renamed(world: World):
    egg_set = put_in(world, cabinet(world))
    egg_sets.cancel(world.by, egg_set_id=egg_set.pk)

    assert list(change_refused(world, egg_set, eggs=41)) == [""]
    assert list(refused(egg_sets.cancel, world.by, egg_set_id=egg_set.pk)) == [""]
    assert change(world, egg_set, name="Given up").name == "Given up"


def test_only_a_keeper_sets_eggs(world: World):
    machine, helper = cabinet(world), world.add_member("Tom", "helper")

    with pytest.raises(NotAllowed):
        put_in(world, machine, by=helper)


def test_a_set_made_tomorrow_is_planned_until_then(world: World):
    egg_set = put_in(world, cabinet(world), set_on=day(1))

    states = [hatching.row(egg_set, on(world, offset).today).state for offset in (0, 1, 18, 19, 23, 24)]

    assert states == ["planned", "turned", "turned", "hatching", "hatching", "overdue"]
