"""The machines as they are drawn: a row each, a band for each egg set, and under them how full the machine is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from farm.models import Machine
from farm.planning.breach import runs
from farm.planning.machines import Conflict
from farm.queries.hatching import MachineRow, Sheet
from farm.web.board import ticks
from farm.web.board.choice import Choice
from farm.web.board.drawing import HEAD
from farm.web.board.geometry import Scale, between, path
from farm.web.board.marks import LANE, Mark, marks
from farm.web.board.ticks import Month, Tick
from farm.web.hatching import bands, twin
from farm.web.hatching.bands import Band
from farm.web.hatching.clashes import Numbered, numbered

_FILL, _GAP = 24.0, 8.0  # height of the strip that shows how full it is, and what is free around it


@dataclass(frozen=True, slots=True)
class Stretch:
    """A run of days in drawing units."""

    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Row:
    """One machine as it is drawn.

    fill, over: paths of how full it is and of what is too much. full_y: where it is exactly full. percent: today's
    and the fullest day's share, in whole percent. clashes: its own conflicts.
    """

    machine: Machine
    width: float
    bands: tuple[Band, ...]
    fill: str
    over: str
    floor: float
    full_y: float
    cleaning: tuple[Stretch, ...]
    closed: tuple[Stretch, ...]
    marks: tuple[Mark, ...]
    clashes: tuple[Numbered, ...]
    percent: int | None
    fullest: int
    fullest_on: date

    @property
    def body(self) -> float:
        """Return the height above the marks of conflicts."""
        return self.floor + _GAP

    @property
    def height(self) -> float:
        """Return the height of the row with its lanes of marks."""
        return self.body + LANE * (1 + max((mark.lane for mark in self.marks), default=-1))


@dataclass(frozen=True, slots=True)
class Timeline:
    """Everything the templates read of the drawing."""

    choice: Choice
    rows: tuple[Row, ...]
    width: float
    head: float
    ticks: tuple[Tick, ...]
    months: tuple[Month, ...]
    today_x: float | None
    told: tuple[Numbered, ...]
    table: twin.Table


def draw(
    sheet: Sheet, choice: Choice, today: date, first_weekday: int, clashes: Sequence[Conflict] = ()
) -> Timeline:
    """Return the drawing of a sheet over the days of `choice`. clashes: every conflict of the farm's machines."""
    window, scale = sheet.window, Scale(choice.day_width, 0, 1, 1)
    last = window.end - timedelta(days=1)
    told = numbered(each for each in clashes if each.start <= last and each.end > window.start)
    return Timeline(
        choice=choice,
        rows=tuple(_row(sheet, each, choice.day_width, told, today) for each in sheet.machines),
        width=scale.x(window.days),
        head=HEAD,
        ticks=ticks.ticks(window, first_weekday, scale),
        months=ticks.months(window, scale),
        today_x=ticks.today_at(window, today, scale),
        told=told,
        table=twin.table(sheet),
    )


def _row(sheet: Sheet, row: MachineRow, day_width: float, told: Sequence[Numbered], today: date) -> Row:
    window, plain = sheet.window, Scale(day_width, 0, 1, 1)
    drawn = bands.in_machine(row.sets, row.machine, window, plain, today)
    lanes = 1 + max((band.lane for band in drawn), default=0)
    shares = np.array([float(day.share) for day in row.days])
    floor = bands.TOP + lanes * bands.LANE + _FILL
    scale = Scale(day_width, floor, _FILL, max(1.0, float(shares.max())))
    own = tuple(one for one in told if one.conflict.machine == str(row.machine.pk))
    fullest, column = int(np.argmax(shares)), window.index(today)
    states = np.array([day.state for day in row.days])
    return Row(
        machine=row.machine,
        width=plain.x(window.days),
        bands=drawn,
        fill=path(between(np.zeros_like(shares), np.minimum(shares, 1.0), scale)),
        over=path(between(np.ones_like(shares), np.maximum(shares, 1.0), scale)),
        floor=floor,
        full_y=scale.y(1.0),
        cleaning=_stretches(states == "cleaning", plain),
        closed=_stretches(states == "out_of_service", plain),
        marks=marks(own, window, plain),
        clashes=own,
        percent=round(100 * float(shares[column])) if 0 <= column < window.days else None,
        fullest=round(100 * float(shares[fullest])),
        fullest_on=window.day(fullest),
    )


def _stretches(days: np.ndarray, scale: Scale) -> tuple[Stretch, ...]:
    return tuple(
        Stretch(scale.x(first), round(scale.x(stop) - scale.x(first), 2)) for first, stop in runs(days)
    )
