"""The rows, the table and the list of a farm's board, from its records."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
import pytest

from farm.models import Batch
from farm.planning.window import Window
from farm.queries import occupancy
from farm.services import stays
from farm.web.board import legend, table
from farm.web.board.choice import choose
from farm.web.board.drawing import Board, draw
from tests.conftest import TODAY, World


def board(world: World, weeks: int = 12, only: str | None = None) -> Board:
    choice = choose({"from": TODAY.isoformat(), "weeks": str(weeks)}, TODAY, 0)
    return draw(occupancy.for_farm(world.farm, choice.window, TODAY), choice, TODAY, 0, only=only)


@pytest.fixture
def full(world: World) -> World:
    """60 chicks, 14 days old, in Brooder 1 (4 m²) until further notice: it gets too small for them."""
    world.add_batch("Browns", birds=60, housing="Brooder 1")
    return world


def sheet_of(world: World, days: int = 84) -> occupancy.Sheet:
    return occupancy.for_farm(world.farm, Window(TODAY, days), TODAY)


def test_every_housing_has_a_row_in_the_farms_order(full: World):
    assert [row.housing.name for row in board(full).rows] == ["Brooder 1", "Brooder 2", "Pen 1"]


def test_a_row_tells_its_fullest_day_and_the_first_one_over(full: World):
    row, empty, _pen = board(full).rows
    load = sheet_of(full).occupancy
    asked = load.area_asked_m2[0]

    assert row.peak_m2 == asked.max()
    assert row.first_over == TODAY + timedelta(days=int(np.argmax(asked > 4.0)))
    assert (empty.is_empty, empty.first_over, empty.overs) == (True, None, ())


def test_the_shortfall_is_drawn_only_on_the_days_over(full: World):
    row = board(full).rows[0]
    asked = sheet_of(full).occupancy.area_asked_m2[0]

    (over,) = row.overs
    assert over.start == row.first_over
    assert over.short_m2 == pytest.approx(asked.max() - 4.0)
    assert row.short_m2 == over.short_m2
    assert over.path.startswith(f"M{13 * (over.start - TODAY).days} ")


def test_the_shortfall_leads_to_its_sentence(full: World):
    drawn = board(full)

    (told,) = [one for one in drawn.told if one.numbered.breach.kind == "room"]
    assert drawn.rows[0].overs[0].numbered == told.numbered
    assert str(told.sentence).startswith("Brooder 1 is ")
    assert (told.housing.name, [batch.name for batch in told.batches]) == ("Brooder 1", ["Browns"])


def test_numbers_run_through_the_list_and_the_rows(full: World):
    drawn = board(full)

    assert [one.numbered.number for one in drawn.told] == list(range(1, len(drawn.told) + 1))
    marked = {mark.numbered.number for row in drawn.rows for mark in row.marks}
    assert marked == {one.numbered.number for one in drawn.told}


def test_rest_follows_the_last_day_with_birds(world: World):
    world.add_batch("Browns", birds=10, housing="Brooder 1", housing_until=TODAY + timedelta(days=5))

    row = board(world).rows[0]

    (rest,) = row.resting
    assert (rest.start, rest.end) == (TODAY + timedelta(days=5), TODAY + timedelta(days=19))
    assert (rest.x, rest.width) == (65.0, 14 * 13.0)


def test_days_out_of_use_are_closed_and_have_no_line(world: World):
    world.add_housing("Summer", in_service_from=TODAY + timedelta(days=3))

    row = board(world).rows[-1]

    assert [(span.start, span.end) for span in row.closed] == [(TODAY, TODAY + timedelta(days=3))]
    assert row.line.startswith("M39 ")


def test_birds_without_housing_have_a_row_of_their_own(world: World):
    world.add_batch("Browns", birds=20)

    drawn = board(world)

    row = drawn.rows[-1]
    assert row.housing is None
    assert [band.name for band in row.bands] == ["Browns"]
    assert row.first_over == TODAY
    assert row.peak_m2 == row.short_m2 > 0
    assert [one.numbered.breach.kind for one in drawn.told] == ["unhoused"]


def test_a_farm_whose_birds_all_have_a_place_has_no_such_row(full: World):
    assert all(row.housing is not None for row in board(full).rows)


def test_the_oldest_birds_are_at_the_floor(world: World):
    world.add_batch("Young", birds=10, age=10, housing="Brooder 1")
    world.add_batch("Old", birds=10, age=16, housing="Brooder 1")

    assert [band.name for band in board(world).rows[0].bands] == ["Old", "Young"]


def test_a_row_grows_by_a_lane_for_breaches_side_by_side(full: World):
    row = board(full).rows[0]
    lanes = 1 + max(mark.lane for mark in row.marks)

    assert row.height == 84 + lanes * 26
    assert board(full).rows[1].height == 84


def test_one_housing_alone_shows_its_own_row_and_breaches(full: World):
    full.add_batch("Lost", birds=3)

    drawn = board(full, only=str(full.housing["Brooder 1"].pk))

    assert [row.housing.name for row in drawn.rows] == ["Brooder 1"]
    assert {one.numbered.breach.room for one in drawn.told} == {str(full.housing["Brooder 1"].pk)}


def test_the_table_says_birds_floor_and_fullest_day_of_each_week(full: World):
    sheet = sheet_of(full)

    cell = table.table(sheet).lines[0].cells[0]

    asked = sheet.occupancy.area_asked_m2[0, :7]
    assert (cell.birds, cell.state, cell.given_m2) == (60, "birds", 4.0)
    assert cell.asked_m2 == asked.max()
    assert cell.fullest == TODAY + timedelta(days=int(asked.argmax()))


def test_the_table_marks_the_weeks_that_are_over(full: World):
    sheet = sheet_of(full)

    over = [cell.over for cell in table.table(sheet).lines[0].cells]

    asked = sheet.occupancy.area_asked_m2[0].reshape(-1, 7).max(axis=1)
    assert over == (asked > 4.0).tolist()
    assert any(over)


def test_the_table_says_why_a_week_is_without_birds(world: World):
    world.add_batch("Browns", birds=10, housing="Brooder 1", housing_until=TODAY)
    world.add_housing("Summer", in_service_from=TODAY + timedelta(days=7))

    lines = {line.housing.name: line for line in table.table(sheet_of(world)).lines}

    assert [cell.state for cell in lines["Brooder 1"].cells[:3]] == ["resting", "resting", "empty"]
    assert [cell.state for cell in lines["Summer"].cells[:2]] == ["closed", "empty"]


def test_the_legend_names_each_programme_on_the_board_once_with_its_days(world: World):
    world.add_batch("Browns", birds=5, housing="Brooder 1")
    world.add_batch("Reds", birds=5, housing="Brooder 1")

    (kind,) = board(world).kinds
    assert kind == legend.Kind("Brown layer chicken", (0, 15, 30, 42))
    assert [swatch.stage for swatch in legend.swatches()] == ["down", "pinning", "feathering", "feathered"]
    assert legend.swatches()[0].colour == "#f6e08a"


def test_a_board_names_the_batches_it_shows_whether_they_have_housing_or_not(full: World):
    batch = Batch.objects.get()
    assert board(full).batches == (batch,)
    stays.remove(full.by, stay_id=batch.stays.get().pk)
    assert board(full).batches == (batch,)
