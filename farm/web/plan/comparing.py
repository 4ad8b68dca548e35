"""A plan beside what is planned now: the same days twice, and only the housing where they differ."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, timedelta

from farm.models import Farm
from farm.planning.window import Window
from farm.queries import occupancy, plans
from farm.queries.plans import Shown
from farm.web.board import choice as choices
from farm.web.board.choice import Choice
from farm.web.board.drawing import Board, draw
from farm.web.board.rows import Row

#: Prefixes of what is named in the two drawings, so that no name is there twice on the page.
NOW, THEN = "now-", "then-"


@dataclass(frozen=True, slots=True)
class Pair:
    """The board as it is and as it would be. whole: whether all housing is shown; same: how many rows are left out."""

    now: Board
    then: Board
    whole: bool
    same: int


def opening(found: Shown, today: date, farm: Farm, asked: dict[str, str]) -> Choice:
    """Return the days to show: as asked, else from a week before the first day that differs, when it is far ahead."""
    usual = choices.choose(asked, today, farm.first_weekday)
    first = _first_difference(found)
    if "from" in asked or first is None or first < usual.window.end - timedelta(weeks=2):
        return usual
    start = choices.week_start(first, farm.first_weekday) - timedelta(weeks=1)
    return replace(usual, start=start)


def pair(farm: Farm, found: Shown, choice: Choice, today: date, *, whole: bool = False) -> Pair:
    """Return both boards over the chosen days."""
    # A plan says nothing of the days before it was made: the two are compared from there on.
    start = max(choice.start, found.problem.start)
    shown = replace(choice, start=start)
    window = Window(start, choice.weeks * 7)
    before = occupancy.for_farm(farm, window, today)
    after = plans.sheet(found, window, today)
    now = draw(before, shown, today, farm.first_weekday, prefix=NOW)
    then = _in_order(draw(after, shown, today, farm.first_weekday, prefix=THEN), now)
    differing = _differing(now, then)
    same = len({row.key for row in then.rows} - differing)
    if whole or not differing:
        return Pair(now, then, whole=True, same=same)
    return Pair(_only(now, differing), _only(then, differing), whole=False, same=same)


def _in_order(board: Board, like: Board) -> Board:
    """Return the board with its rows in the order of another, new housing after those that both have."""
    order = {row.key: place for place, row in enumerate(like.rows) if row.housing is not None}
    last = len(order)

    def place(row: Row) -> tuple[bool, int, str]:
        return row.housing is None, order.get(row.key, last), row.key

    return replace(board, rows=tuple(sorted(board.rows, key=place)))


def _only(board: Board, keys: set[str]) -> Board:
    return replace(board, rows=tuple(row for row in board.rows if row.key in keys))


def _differing(now: Board, then: Board) -> set[str]:
    before = {row.key: _seen(row) for row in now.rows}
    after = {row.key: _seen(row) for row in then.rows}
    return {key for key in before.keys() | after.keys() if before.get(key) != after.get(key)}


def _seen(row: Row) -> tuple[object, ...]:
    bands = sorted((band.batch, band.first_day, band.last_day, band.birds) for band in row.bands)
    return (tuple(bands), row.line, round(row.short_m2, 3))


def _first_difference(found: Shown) -> date | None:
    if found.solution is None:
        return None
    adopted = {plan.batch: plan for plan in found.problem.adopted}
    days: list[date] = []
    for plan in found.solution.plans:
        old = adopted.get(plan.batch)
        if old is None:
            days.append(plan.arrival)
            continue
        before = {(stay.housing, stay.start, stay.end) for part in old.parts for stay in part.stays}
        after = {(stay.housing, stay.start, stay.end) for part in plan.parts for stay in part.stays}
        days += [start for _housing, start, _end in before ^ after]
    return min((day for day in days if day >= found.problem.start), default=None)
