"""One row of the board: a housing's load under its capacity line, or the birds that have none."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np

from farm.models import Housing
from farm.planning.breach import runs
from farm.planning.indoors import asked_by_day
from farm.planning.occupancy import TOLERANCE
from farm.planning.window import Window
from farm.queries import programmes
from farm.queries.occupancy import Sheet
from farm.web.board.bands import Band, Load, stacked
from farm.web.board.geometry import Floats, Scale, between, line, path
from farm.web.board.marks import LANE, Mark, Numbered, marks

BODY = 84.0  # height of the load's part of a row, in drawing units
_TOP, _FLOOR = 8.0, 80.0
_HEADROOM = 1.06  # of the row's largest number, so that its line is never the row's own edge


@dataclass(frozen=True, slots=True)
class Span:
    """A run of days in drawing units, and as days [start, end)."""

    x: float
    width: float
    start: date
    end: date


@dataclass(frozen=True, slots=True)
class Over:
    """The part of a load above the line over one run of days; the breach it is told under, if any."""

    path: str
    start: date
    worst: date
    short_m2: float
    numbered: Numbered | None


@dataclass(frozen=True, slots=True)
class Row:
    """A row as it is drawn. housing None: the birds without one.

    peak_m2 is the fullest day's load; first_over the first day above the line.
    """

    key: str
    housing: Housing | None
    width: float
    bands: tuple[Band, ...]
    line: str
    overs: tuple[Over, ...]
    resting: tuple[Span, ...]
    closed: tuple[Span, ...]
    marks: tuple[Mark, ...]
    peak_m2: float
    peak_on: date
    first_over: date | None
    top: float = _TOP
    floor: float = _FLOOR
    body: float = BODY
    short_m2: float = field(default=0.0)

    @property
    def height(self) -> float:
        """Return the height of the row with its lanes."""
        return BODY + LANE * (1 + max((mark.lane for mark in self.marks), default=-1))

    @property
    def is_empty(self) -> bool:
        """Say whether no bird is here in the window."""
        return not self.bands


def for_housing(sheet: Sheet, key: str, day_width: float, found: Sequence[Numbered]) -> Row:
    """Return the row of the housing numbered `key` (text), with the breaches that are its own."""
    load, window = sheet.occupancy, sheet.window
    row = load.row[key]
    asked, given = load.area_asked_m2[row], load.area_m2[row]
    full = max(float(asked.max()), sheet.housings[key].area_m2) * _HEADROOM
    scale = _scale(day_width, full)
    own = [one for one in found if one.breach.room == key]
    peak_on, peak_m2 = load.peak(key)
    overs = _overs(asked, given, window, scale, own)
    return Row(
        key=f"h{key}",
        housing=sheet.housings[key],
        width=scale.x(window.days),
        bands=stacked(_loads(sheet, key), window, scale, given),
        line=path(line(given, given > 0, scale), closed=False),
        overs=overs,
        resting=_spans(load.resting[row] & (given > 0), window, scale),
        closed=_spans(given == 0, window, scale),
        marks=marks(own, window, scale),
        peak_m2=peak_m2,
        peak_on=peak_on,
        first_over=load.first_over(key),
        short_m2=max((over.short_m2 for over in overs), default=0.0),
    )


def without_housing(sheet: Sheet, day_width: float, found: Sequence[Numbered]) -> Row | None:
    """Return the row of birds without housing, all of it above the line; None when every bird has one."""
    groups = {group.key: group for group in sheet.occupancy.groups}
    loads = [
        _load(sheet, f"u{key}", key, birds * asked_by_day(groups[key], sheet.window, "area_m2"), birds)
        for key, birds in sheet.unhoused.items()
        if birds.any()
    ]
    if not loads:
        return None
    total: Floats = np.sum([each.m2 for each in loads], axis=0)
    scale = _scale(day_width, max(float(total.max()), TOLERANCE) * _HEADROOM)
    own = [one for one in found if one.breach.room is None]
    worst = int(np.argmax(total))
    over = total > TOLERANCE
    return Row(
        key="u",
        housing=None,
        width=scale.x(sheet.window.days),
        bands=stacked(loads, sheet.window, scale),
        line="",
        overs=_overs(total, np.zeros_like(total), sheet.window, scale, own),
        resting=(),
        closed=(),
        marks=marks(own, sheet.window, scale),
        peak_m2=float(total[worst]),
        peak_on=sheet.window.day(worst),
        first_over=sheet.window.day(int(np.argmax(over))) if over.any() else None,
        short_m2=float(total[worst]),
    )


def _scale(day_width: float, full_m2: float) -> Scale:
    return Scale(day_width, _FLOOR, _FLOOR - _TOP, full_m2)


def _loads(sheet: Sheet, key: str) -> list[Load]:
    """Return the loads of a housing, the oldest birds at the floor, stays of one batch beside each other."""
    found = [
        _load(sheet, f"s{part.stay}", part.group, sheet.occupancy.part_area_m2[index], part.birds)
        for index, part in enumerate(sheet.occupancy.parts)
        if part.room == key
    ]
    return sorted(found, key=lambda load: (load.hatch_day, load.batch))


def _load(sheet: Sheet, key: str, batch_key: str, m2: Floats, birds: np.ndarray) -> Load:
    batch = sheet.batches[batch_key]
    feathered = max(programmes.of(batch).rules["feathered_day"].value, 1.0)
    return Load(key, batch_key, batch.name, batch.hatch_day, feathered, m2, birds.tolist())


def _overs(
    asked: Floats, given: Floats, window: Window, scale: Scale, own: Sequence[Numbered]
) -> tuple[Over, ...]:
    over = np.where(asked - given > TOLERANCE, asked - given, 0.0)
    found = []
    for first, stop in runs(over > 0):
        worst = first + int(np.argmax(over[first:stop]))
        days = np.zeros(window.days, dtype=np.bool_)
        days[first:stop] = True
        shape = between(given, np.where(days, given + over, given), scale)
        told = [each for each in own if each.breach.kind in ("room", "service", "unhoused")]
        start = window.day(first)
        numbered = next((each for each in told if each.breach.start <= start < each.breach.end), None)
        found.append(Over(path(shape), start, window.day(worst), float(over[worst]), numbered))
    return tuple(found)


def _spans(days: np.ndarray, window: Window, scale: Scale) -> tuple[Span, ...]:
    return tuple(
        Span(scale.x(first), round(scale.x(stop) - scale.x(first), 2), window.day(first), window.day(stop))
        for first, stop in runs(days)
    )
