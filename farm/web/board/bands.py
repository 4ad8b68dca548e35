"""The bands of a row: each stay's part of the load, stacked, coloured and patterned by the age of its birds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np

from farm.planning.window import Window
from farm.web import plumage
from farm.web.board.geometry import NOTHING_M2, Floats, Point, Scale, between, path

#: Plumage stages with the share of the way to feathered on which each begins; `plumage.stage` draws the same lines.
STAGES = (("down", 0.0), ("pinning", 0.35), ("feathering", 0.7), ("feathered", 1.0))
_LETTER = 6.6  # width of one letter of a band's label, in drawing units
_LABEL_HEIGHT = 13.0


@dataclass(frozen=True, slots=True)
class Load:
    """What one band is made of: the birds of one stay, and what their colour follows from.

    key: names the band in the drawing. m2: load by day. feathered_day: of its programme.
    """

    key: str
    batch: str
    name: str
    hatch_day: date
    feathered_day: float
    m2: Floats
    birds: Sequence[int]


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of the colour ramp along a band: where, in drawing units, and which colour."""

    offset: float
    colour: str


@dataclass(frozen=True, slots=True)
class Slice:
    """The part of a band in one stage of plumage: its pattern."""

    stage: str
    path: str


@dataclass(frozen=True, slots=True)
class Label:
    """A batch's name or age written into its band."""

    x: float
    y: float
    text: str
    weeks: int | None = None


@dataclass(frozen=True, slots=True)
class Band:
    """One stay's band. `shapes` are its closed polygons; x1 and x2 span the ramp. Birds: most at once."""

    key: str
    batch: str
    name: str
    shapes: tuple[tuple[Point, ...], ...]
    path: str
    x1: float
    x2: float
    stops: tuple[Stop, ...]
    slices: tuple[Slice, ...]
    labels: tuple[Label, ...]
    birds: int
    first_age: int
    last_age: int
    first_day: date
    last_day: date

    @property
    def stay(self) -> int | None:
        """Return the number of its stay, None for one that is only thought of and for birds without housing."""
        number = self.key[1:]
        return int(number) if self.key.startswith("s") and number.isdecimal() else None


def stacked(
    loads: Sequence[Load], window: Window, scale: Scale, ceiling: Floats | None = None
) -> tuple[Band, ...]:
    """Return the bands from the floor up, in the order given; loads without a bird in the window have none.

    ceiling: m² by day above which no label is written, because a shortfall is drawn there.
    """
    bands = []
    top: Floats = np.zeros(window.days)
    for load in loads:
        if (load.m2 > NOTHING_M2).any():
            bands.append(_band(load, top, top + load.m2, window, scale, ceiling))
        top = top + load.m2
    return tuple(bands)


def _band(
    load: Load, lower: Floats, upper: Floats, window: Window, scale: Scale, ceiling: Floats | None
) -> Band:
    days = np.flatnonzero(upper - lower > NOTHING_M2)
    first, last = int(days[0]), int(days[-1])
    shapes = between(lower, upper, scale)
    born = window.index(load.hatch_day)
    seen = upper if ceiling is None else np.maximum(lower, np.minimum(upper, ceiling))
    return Band(
        key=load.key,
        batch=load.batch,
        name=load.name,
        shapes=tuple(tuple(shape) for shape in shapes),
        path=path(shapes),
        x1=scale.x(born),
        x2=scale.x(born + load.feathered_day),
        stops=tuple(Stop(share, _css(colour)) for share, colour in plumage.RAMP),
        slices=tuple(_slices(load, lower, upper, born, scale)),
        labels=tuple(_labels(load, lower, seen, first, born, scale)),
        birds=int(max(load.birds)),
        first_age=first - born,
        last_age=last - born,
        first_day=window.day(first),
        last_day=window.day(last),
    )


def _slices(load: Load, lower: Floats, upper: Floats, born: int, scale: Scale) -> Iterator[Slice]:
    for stage, days in stage_days(load.feathered_day, born, len(lower)).items():
        shown = np.where(days, upper, lower)
        shapes = between(lower, shown, scale)
        if shapes:
            yield Slice(stage, path(shapes))


def stage_days(feathered_day: float, born: int, days: int) -> Mapping[str, np.ndarray]:
    """Return for each stage of plumage the days of the window on which birds hatched in column `born` are in it."""
    stages = np.array([plumage.stage(max(day - born, 0), feathered_day) for day in range(days)])
    return {stage: stages == stage for stage, _share in STAGES}


def _labels(load: Load, lower: Floats, upper: Floats, first: int, born: int, scale: Scale) -> Iterator[Label]:
    """Write the name where it first fits, and the age in weeks where a stage begins; none over another."""

    def fit(start: int, text: str) -> tuple[int, float] | None:
        stop = start + int(np.ceil((len(text) * _LETTER + 8) / scale.day_width))
        baseline = _room(lower, upper, start, stop, scale) if stop <= len(lower) else None
        return None if baseline is None else (stop, baseline)

    taken = first
    for start in range(first, len(lower)):
        if found := fit(start, load.name):
            taken = found[0]
            yield Label(scale.x(start) + 4, found[1], load.name)
            break
    for start, text in _week_marks(load.feathered_day, born, first, len(lower)):
        if start >= taken and (found := fit(start, text)):
            taken = found[0]
            yield Label(scale.x(start) + 4, found[1], text, (start - born) // 7)


def _week_marks(feathered_day: float, born: int, first: int, days: int) -> Iterator[tuple[int, str]]:
    for _stage, share in STAGES[1:]:
        week = -(-int(share * feathered_day) // 7)
        start = born + week * 7
        if first < start < days:
            yield start, f"{week} wk"


def _room(lower: Floats, upper: Floats, start: int, stop: int, scale: Scale) -> float | None:
    """Return the baseline of a label that fits between the edges on all its days, None where none does."""
    top = max(scale.y(float(m2)) for m2 in upper[start:stop])
    floor = min(scale.y(float(m2)) for m2 in lower[start:stop])
    if floor - top < _LABEL_HEIGHT or not (upper - lower > NOTHING_M2)[start:stop].all():
        return None
    return round((top + floor) / 2 + _LABEL_HEIGHT / 3, 2)


def _css(colour: tuple[int, int, int]) -> str:
    return "#" + "".join(f"{channel:02x}" for channel in colour)
