"""The headroom calendar: every day once, in its week and under its weekday, with the right number."""

from __future__ import annotations

from datetime import date, timedelta
from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.models import Headroom
from farm.queries.headroom import Line, Table
from farm.web.plan import calendar
from farm.web.plan.calendar import Calendar

START = date(2026, 5, 1)  # a Friday


def table(days: list[tuple[int, int | None]], *, fresh: bool = True, start: date = START) -> Table:
    """A table of one type from (birds, birds after re-planning) a day."""
    cells = tuple(
        Headroom(
            type="duck",
            day=start + timedelta(days=place),
            birds=birds,
            replanned_birds=more,
            binding="7",
            binding_day=start + timedelta(days=place + 30),
        )
        for place, (birds, more) in enumerate(days)
    )
    done = sum(more is not None for _birds, more in days)
    return Table((Line("duck", "Duck", cells),), fresh, done, len(days))


def shown(days: list[tuple[int, int | None]], first_weekday: int = 0, **how: Any) -> Calendar:
    found = calendar.stored(table(days, **how), "duck", {"7": "Pen 7"}, first_weekday)
    assert found is not None
    return found


@given(
    days=st.lists(st.tuples(st.integers(0, 500), st.none() | st.integers(0, 500)), min_size=1, max_size=400),
    first_weekday=st.integers(0, 6),
    start=st.dates(date(2020, 1, 1), date(2040, 1, 1)),
)
def test_every_day_is_there_once_under_its_weekday(
    days: list[tuple[int, int | None]], first_weekday: int, start: date
):
    year = shown(days, first_weekday, start=start)

    cells = [cell for week in year.weeks for cell in week.cells if cell is not None]
    assert [cell.arrival for cell in cells] == [start + timedelta(days=place) for place in range(len(days))]
    for week in year.weeks:
        assert week.start.weekday() == first_weekday
        assert len(week.cells) == 7
        for place, cell in enumerate(week.cells):
            assert cell is None or cell.arrival.weekday() == year.weekdays[place].weekday()


@given(
    days=st.lists(st.tuples(st.integers(0, 500), st.none() | st.integers(0, 500)), min_size=1, max_size=60)
)
def test_a_cell_says_more_only_where_more_is_known(days: list[tuple[int, int | None]]):
    cells = [cell for week in shown(days).weeks for cell in week.cells if cell is not None]

    for cell, (birds, more) in zip(cells, days, strict=True):
        assert cell.birds == birds
        assert cell.more == (more if more is not None and more > birds else None)


@pytest.mark.parametrize(
    ("days", "levels"),
    [
        ([(0, None), (1, None), (25, None), (26, None), (100, None)], [0, 1, 1, 2, 4]),
        ([(0, None), (0, None)], [0, 0]),
        ([(10, 100), (100, None)], [4, 4]),
    ],
)
def test_the_shade_is_a_share_of_the_roomiest_day(days: list[tuple[int, int | None]], levels: list[int]):
    cells = [cell for week in shown(days).weeks for cell in week.cells if cell is not None]

    assert [cell.level for cell in cells] == levels


def test_a_cell_names_the_housing_and_the_day_that_bind():
    (cell,) = [cell for week in shown([(3, None)]).weeks for cell in week.cells if cell is not None]

    assert (cell.housing, cell.day) == ("Pen 7", START + timedelta(days=30))


def test_it_works_until_every_day_that_is_planned_anew_is_known():
    assert shown([(3, None), (3, 5)]).working is True
    assert shown([(3, 4), (3, 5)]).working is False


def test_a_table_of_the_farm_as_it_was_is_not_shown():
    assert calendar.stored(table([(3, 4)], fresh=False), "duck", {}, 0) is None


def test_a_type_that_is_not_in_the_table_is_not_shown():
    assert calendar.stored(table([(3, 4)]), "goose", {}, 0) is None


def test_days_worked_out_on_the_spot_say_nothing_of_planning_anew():
    def cell(_place: int, day: int) -> SimpleNamespace:
        arrival = START + timedelta(days=day)
        return SimpleNamespace(arrival=arrival, birds=day, housing=SimpleNamespace(name="Pen"), day=arrival)

    found = SimpleNamespace(birds=SimpleNamespace(shape=(1, 10)), cell=cell)
    year = calendar.fixed(found, 0)  # type: ignore[arg-type]  # only what is read of a planning table

    assert (year.done, year.of, year.working) == (0, 0, False)
    assert sum(cell.birds for week in year.weeks for cell in week.cells if cell) == 45
