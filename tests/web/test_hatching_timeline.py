"""The drawing of the machines: how full they are, what clashes, and the same in numbers."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest

from farm.models import EggSet, Machine
from farm.planning.machines import KINDS
from farm.queries import hatching
from farm.services import hatches, machines
from farm.web.board.choice import choose
from farm.web.hatching import timeline
from farm.web.hatching.clashes import NAMES
from farm.web.hatching.timeline import Timeline
from tests.conftest import TODAY, World
from tests.web.hatching_world import cabinet, day, on, put_in


def draw(world: World, weeks: int = 6) -> Timeline:
    choice = choose({"weeks": str(weeks)}, TODAY, 0)
    sheet = hatching.for_farm(world.farm, choice.window, TODAY)
    return timeline.draw(sheet, choice, TODAY, 0, hatching.conflicts(world.farm))


def areas(path: str) -> float:
    """Return the drawing units that the polygons of a path cover: M x y, then H and V to the next corners."""
    total = 0.0
    for shape in re.findall(r"M[^MZ]*", path):
        points, x, y = [], 0.0, 0.0
        for letter, numbers in re.findall(r"([MHVL])([-\d. ]+)", shape):
            found = [float(number) for number in numbers.split()]
            if letter == "H":
                x = found[0]
            elif letter == "V":
                y = found[0]
            else:
                x, y = found[0], found[1]
            points.append((x, y))
        total += abs(
            sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, points[1:] + points[:1], strict=True)) / 2
        )
    return total


def test_every_machine_has_a_row_with_its_own_bands(world: World):
    one, other = cabinet(world), cabinet(world, "Cabinet 2")
    put_in(world, one, 40, name="Ours")

    rows = draw(world).rows

    assert [(row.machine, [band.row.egg_set.name for band in row.bands]) for row in rows] == [
        (one, ["Ours"]),
        (other, []),
    ]


def test_the_strip_covers_as_much_as_the_machine_is_full_on_its_days(world: World):
    put_in(world, cabinet(world), 15)  # a quarter of 60, for 23 days

    (row,) = draw(world).rows

    assert areas(row.fill) == pytest.approx(0.25 * 24.0 * 26.0 * 23, rel=1e-3)
    assert row.over == ""
    assert (row.percent, row.fullest, row.fullest_on) == (25, 25, TODAY)


def test_a_machine_is_cleaned_after_the_hatch_and_closed_out_of_service(world: World):
    put_in(world, cabinet(world, cleaning_days=2), 15)
    cabinet(world, "Old one", in_service_to=day(7))

    first, old = draw(world).rows

    assert [(span.x, span.width) for span in first.cleaning] == [((11 + 23) * 26.0, 52.0)]
    assert [span.width for span in old.closed] == [(42 - 11 - 7) * 26.0]


def overfilled(world: World) -> EggSet:
    """Return a set beyond what its machine holds, as two writers or an older record may leave it."""
    egg_set = put_in(world, cabinet(world), 40)
    EggSet.objects.filter(pk=egg_set.pk).update(eggs=75)
    return egg_set


def test_a_conflict_is_numbered_drawn_and_told(world: World):
    overfilled(world)

    drawn = draw(world)
    (row,) = drawn.rows

    assert [(one.number, one.conflict.kind, one.conflict.eggs) for one in drawn.told] == [(1, "capacity", 15)]
    assert [(mark.numbered.number, mark.x, mark.width) for mark in row.marks] == [(1, 11 * 26.0, 23 * 26.0)]
    assert row.over
    assert row.fullest == 125
    assert row.height > row.body


def test_a_conflict_of_other_weeks_is_not_told(world: World):
    overfilled(world)
    choice = choose({"from": (TODAY + timedelta(days=100)).isoformat(), "weeks": "2"}, TODAY, 0)
    sheet = hatching.for_farm(world.farm, choice.window, TODAY)

    assert timeline.draw(sheet, choice, TODAY, 0, hatching.conflicts(world.farm)).told == ()


def test_every_kind_of_conflict_has_a_name():
    assert NAMES.keys() == KINDS.keys()


def test_the_table_says_by_week_what_is_in_a_machine_and_how_full_it_is(world: World):
    machine = cabinet(world, cleaning_days=9)
    put_in(world, machine, 30, name="Ours")
    machines.add(world.by, name="Old one", does="setter", medium_eggs=9, in_service_to=day(-40))

    table = draw(world).table
    ours, old = (line.cells for line in table.lines)

    assert table.weeks[0] == day(-11)  # the Monday before the last
    assert [cell.state for cell in ours] == ["empty", "eggs", "eggs", "eggs", "eggs", "cleaning"]
    assert [cell.hatching for cell in ours] == [False, False, False, False, True, False]
    assert (ours[1].names, ours[1].percent) == (("Ours",), 50)
    assert {cell.state for cell in old} == {"closed"}


def test_a_hatch_that_was_recorded_leaves_the_machine_two_days_later(world: World):
    egg_set = put_in(world, cabinet(world), 40, set_on=day(-21))
    hatches.record(world.by, egg_set_id=egg_set.pk, day=day(-1), hatched=30, expected_version=egg_set.version)

    (row,) = draw(world).rows

    assert row.bands[0].over
    assert row.bands[0].x + row.bands[0].width == (11 + 1) * 26.0


def test_a_farm_without_machines_has_an_empty_drawing(world: World):
    assert draw(world).rows == ()


def test_drawing_costs_no_query_more_for_more_sets(world: World, django_assert_max_num_queries):
    machine = cabinet(world, medium_eggs=500)
    for _ in range(5):
        put_in(world, machine, 10, by=on(world, 0))
    assert Machine.objects.count() == 1

    with django_assert_max_num_queries(10):
        draw(world)
