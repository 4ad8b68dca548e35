"""Machines and egg sets as their pages read them."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.planning.window import Window
from farm.queries import agenda, hatching
from farm.services import egg_sets, hatches, machines
from tests.conftest import TODAY, World
from tests.farm.egg_world import cabinet, day, on, put_in


def test_a_machines_days_show_how_full_it_is_and_with_what(world: World):
    machine = cabinet(world, medium_eggs=60, cleaning_days=2)
    egg_set = put_in(world, machine, 45, set_on=day(-1))

    sheet = hatching.for_farm(world.farm, Window(day(-2), 26), TODAY)

    (row,) = sheet.machines
    assert (row.machine, [each.egg_set for each in row.sets]) == (machine, [egg_set])
    assert [float(row.days[i].share) for i in (0, 1, 23, 24)] == [0, 0.75, 0.75, 0]
    assert [row.days[i].state for i in (0, 1, 18, 19, 24)] == [
        "empty",
        "setting",
        "setting",
        "hatching",
        "cleaning",
    ]


def test_a_recorded_hatch_stays_on_its_machines_past_days_and_a_cancelled_set_does_not(world: World):
    machine = cabinet(world)
    done = put_in(world, machine, 30, set_on=day(-21))
    egg_sets.cancel(world.by, egg_set_id=put_in(world, machine, 30, set_on=day(-21)).pk)
    hatches.record(world.by, egg_set_id=done.pk, day=TODAY, hatched=20, expected_version=None)

    sheet = hatching.for_farm(world.farm, Window(day(-10), 10), TODAY)

    assert {each.loads for each in sheet.machines[0].days} == {(str(done.pk),)}
    assert [each.state for each in sheet.sets] == ["hatched", "cancelled"]


def test_a_set_says_when_what_happens_and_how_many_chicks_to_expect(world: World):
    row = hatching.row(put_in(world, cabinet(world), 40), TODAY)

    assert (row.dates.lockdown, row.dates.hatch_day) == (day(18), day(21))
    assert row.expected == pytest.approx(28)
    assert row.low < 28 < row.high
    assert (row.left, row.warnings, row.conflicts) == (40, (), ())


def test_eggs_stored_long_and_late_hatches_are_warned_of(world: World):
    machine = cabinet(world)
    stored = put_in(world, machine, 10, stored_days=9)
    late = put_in(world, cabinet(world, "Cabinet 2"), 10, set_on=day(-1))

    warned = [str(each) for each in hatching.row(stored, TODAY).warnings]
    overdue = [str(each) for each in hatching.row(late, day(30)).warnings]

    assert warned == ["Stored 9 days: fewer hatch of eggs older than 7 days when set"]
    assert overdue == ["The hatch should have been over on 22 May. Record what hatched, even if none did"]
    assert [str(each) for each in hatching.row(late, day(21)).warnings] == ["They were expected on 21 May"]


def test_a_set_names_the_conflicts_it_is_part_of(world: World):
    machine = cabinet(world)
    egg_set = put_in(world, machine, 40)
    type(machine).objects.update(medium_eggs=30)

    (conflict,) = hatching.row(egg_set, TODAY).conflicts

    assert (conflict.kind, conflict.eggs) == ("capacity", 10)


def test_eggs_ask_for_their_work_until_their_hatch_is_recorded(world: World):
    machine = cabinet(world, turns_itself=False)
    egg_set = put_in(world, machine, 40, set_on=day(-7))

    def sources(offset: int) -> set[str]:
        return {item.source for item in agenda.for_farm(world.farm, Window(day(offset), 1), day(offset))}

    assert {f"eggs:{egg_set.pk}/candle/7", f"machine:{machine.pk}/turn_eggs"} <= sources(0)
    machines.change(world.by, machine_id=machine.pk, expected_version=None, turns_itself=True)
    assert f"machine:{machine.pk}/turn_eggs" not in sources(0)
    hatches.record(on(world, 13), egg_set_id=egg_set.pk, day=day(13), hatched=30, expected_version=None)
    assert not any(source.endswith("check_machine") for source in sources(14))


def test_the_next_step_of_an_expected_batch_is_its_eggs(world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(1))

    assert agenda.next_steps(world.farm, TODAY)[egg_set.batch.pk].source == f"eggs:{egg_set.pk}/set_eggs"


def test_the_steps_of_a_batch_in_its_eggs_begin_with_their_setting(world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-7), housing_id=world.housing["Brooder 1"].pk)

    steps = [due.item for due in agenda.for_batch(egg_set.batch, TODAY, 14)]

    assert [item.job for item in steps][:3] == ["set_eggs", "candle", "candle"]
    assert max(item.due for item in steps) <= egg_set.batch.hatch_day + timedelta(days=12)
    assert {"hatch", "arrival"} <= {item.job for item in steps}


def test_many_egg_sets_are_read_in_as_many_queries_as_few(world: World, django_assert_max_num_queries):
    machine = cabinet(world, medium_eggs=500)
    for _ in range(6):
        put_in(world, machine, 10)

    with django_assert_max_num_queries(8):
        assert len(hatching.for_farm(world.farm, Window(TODAY, 30), TODAY).sets) == 6
