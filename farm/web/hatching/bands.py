"""The band of an egg set in one machine: turned, the last days, the days of the hatch, until it is taken out."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.models import Machine
from farm.planning.window import Window
from farm.queries import hatching
from farm.queries.hatching import SetRow
from farm.web.board.geometry import Scale

LANE, HIGH, TOP = 28.0, 22.0, 6.0  # drawing units: a lane, a band in it, and what is free above the first
_LETTER, _PADDING = 6.6, 10.0  # width of one letter of a label, and what is free beside it

TURNED, LAST, HATCH, OUT, HATCHED = "turned", "last", "hatch", "out", "hatched"
Span = tuple[str, date, date]


@dataclass(frozen=True, slots=True)
class Piece:
    """A run of days of one kind: TURNED, LAST, HATCH (it may hatch), OUT (it should be over) or HATCHED."""

    kind: str
    x: float
    width: float


@dataclass(frozen=True, slots=True)
class Band:
    """An egg set in one machine. main_x: the middle of the day it is expected to hatch, None where not in sight.

    planned: it is not in the machine yet. over: the hatch is recorded. labels: what is written into it, and at which x.
    """

    row: SetRow
    pieces: tuple[Piece, ...]
    x: float
    width: float
    lane: int
    main_x: float | None
    labels: tuple[tuple[float, str], ...]
    planned: bool
    over: bool

    @property
    def y(self) -> float:
        """Return its upper edge."""
        return TOP + self.lane * LANE

    @property
    def high(self) -> float:
        """Return its height."""
        return HIGH


def in_machine(
    rows: Sequence[SetRow], machine: Machine, window: Window, scale: Scale, today: date
) -> tuple[Band, ...]:
    """Return the bands of a machine, each in the first lane that is free, in the order they come."""
    free: list[date] = []  # the day from which each lane is free
    found = []
    for row in sorted(rows, key=lambda row: (spans(row, machine)[0][1], row.egg_set.pk)):
        own = spans(row, machine)
        lane = next((number for number, day in enumerate(free) if day <= own[0][1]), len(free))
        free[lane : lane + 1] = [own[-1][2]]
        band = _band(row, own, lane, window, scale, today)
        if band is not None:
            found.append(band)
    return tuple(found)


def spans(row: SetRow, machine: Machine) -> list[Span]:
    """Return the half-open runs of days an egg set spends in a machine, none of them empty."""
    egg_set, dates = row.egg_set, row.dates
    load = hatching.load(egg_set)
    found: list[Span] = []
    if egg_set.setter_id == machine.pk:
        found.append((TURNED, load.set_on, load.lockdown))
    if egg_set.hatcher_id == machine.pk:
        if egg_set.hatched_on is not None:
            begins = max(egg_set.hatched_on, load.lockdown)
            found += [(LAST, load.lockdown, begins), (HATCHED, begins, load.out)]
        else:
            begins = max(dates.hatch_first, load.lockdown)
            ends = min(dates.hatch_last + timedelta(days=1), load.out)
            found += [(LAST, load.lockdown, begins), (HATCH, begins, ends), (OUT, ends, load.out)]
    return [each for each in found if each[1] < each[2]]


def _band(
    row: SetRow, own: Sequence[Span], lane: int, window: Window, scale: Scale, today: date
) -> Band | None:
    pieces = tuple(_pieces(own, window, scale))
    if not pieces:
        return None
    x, stop = pieces[0].x, pieces[-1].x + pieces[-1].width
    column = window.index(row.dates.hatch_day)
    hatches_here = any(kind in (HATCH, OUT) for kind, _first, _stop in own)
    return Band(
        row=row,
        pieces=pieces,
        x=x,
        width=round(stop - x, 2),
        lane=lane,
        main_x=scale.x(column + 0.5) if hatches_here and 0 <= column < window.days else None,
        labels=tuple(
            _labels(row, x, x + (pieces[0].width if _calm(pieces[0]) else stop - x), window, scale, today)
        ),
        planned=row.state == hatching.PLANNED,
        over=row.egg_set.hatched_on is not None,
    )


def _pieces(own: Sequence[Span], window: Window, scale: Scale) -> Iterator[Piece]:
    for kind, start, end in own:
        columns = window.clip(start, end)
        if columns is not None:
            x = scale.x(columns.start)
            yield Piece(kind, x, round(scale.x(columns.stop) - x, 2))


def _calm(piece: Piece) -> bool:
    """Say whether a label alone may fill a piece; the days of the hatch are too busy and too few."""
    return piece.kind in (TURNED, LAST)


def _labels(
    row: SetRow, x: float, stop: float, window: Window, scale: Scale, today: date
) -> Iterator[tuple[float, str]]:
    """Yield the label at the beginning, and again after today: phones open the drawing there."""
    text = _label(row, stop - x)
    if text:
        yield x, text
    here = scale.x(window.index(today) + 1)
    again = _label(row, stop - here)
    if text and again and x + len(text) * _LETTER + 2 * _PADDING < here < scale.x(window.days):
        yield here, again


def _label(row: SetRow, width: float) -> str:
    """Return the most that can be said within a width: name, eggs and chicks; name and eggs; the name; nothing."""
    egg_set = row.egg_set
    eggs = ngettext("%(n)d egg", "%(n)d eggs", egg_set.eggs) % {"n": egg_set.eggs}
    if egg_set.hatched_on is not None:
        chicks = row.results.get("hatched", 0)
        young = ngettext("%(n)d chick", "%(n)d chicks", chicks) % {"n": chicks}
    else:
        chicks = round(row.expected)
        young = ngettext("about %(n)d chick", "about %(n)d chicks", chicks) % {"n": chicks}
    texts = (
        _("%(name)s: %(eggs)s, %(chicks)s") % {"name": egg_set.name, "eggs": eggs, "chicks": young},
        _("%(name)s: %(eggs)s") % {"name": egg_set.name, "eggs": eggs},
        egg_set.name,
    )
    return next((text for text in texts if len(text) * _LETTER + _PADDING <= width), "")
