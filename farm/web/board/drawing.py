"""The whole board as it is drawn: rows, days along the top, numbered breaches, its twin in numbers, its legend."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from farm.models import Batch, Housing
from farm.phrase import Phrase
from farm.queries.occupancy import Sheet
from farm.web.board import legend, marks, rows, table, ticks
from farm.web.board.choice import Choice
from farm.web.board.geometry import Scale
from farm.web.board.marks import Numbered
from farm.web.board.rows import Row
from farm.web.board.table import Table
from farm.web.board.ticks import Month, Tick

HEAD = 40.0  # height of the strip with months and days


@dataclass(frozen=True, slots=True)
class Told:
    """A breach in the list under the board: its sentence, where it is and whose birds they are."""

    numbered: Numbered
    sentence: Phrase
    housing: Housing | None
    batches: tuple[Batch, ...]


@dataclass(frozen=True, slots=True)
class Board:
    """Everything the board's templates read. batches: those that have a band.

    prefix: begins every name in the page, so that two boards can be on one.
    """

    choice: Choice
    rows: tuple[Row, ...]
    width: float
    head: float
    ticks: tuple[Tick, ...]
    months: tuple[Month, ...]
    today_x: float | None
    told: tuple[Told, ...]
    table: Table
    swatches: tuple[legend.Swatch, ...]
    kinds: tuple[legend.Kind, ...]
    batches: tuple[Batch, ...]
    prefix: str = ""


def draw(
    sheet: Sheet,
    choice: Choice,
    today: date,
    first_weekday: int,
    only: str | None = None,
    prefix: str = "",
) -> Board:
    """Return the board of `sheet`. only: the number of one housing, as text, for that row alone."""
    scale = Scale(choice.day_width, 0, 1, 1)
    found = marks.numbered([each for each in sheet.breaches if only is None or each.room == only])
    keys = [key for key in sheet.housings if only in (None, key)]
    drawn = [rows.for_housing(sheet, key, choice.day_width, found) for key in keys]
    homeless = rows.without_housing(sheet, choice.day_width, found) if only is None else None
    shown = {band.batch for row in (*drawn, *((homeless,) if homeless else ())) for band in row.bands}
    batches = tuple(batch for key, batch in sheet.batches.items() if key in shown)
    return Board(
        choice=choice,
        rows=(*drawn, homeless) if homeless else tuple(drawn),
        width=scale.x(sheet.window.days),
        head=HEAD,
        ticks=ticks.ticks(sheet.window, first_weekday, scale),
        months=ticks.months(sheet.window, scale),
        today_x=ticks.today_at(sheet.window, today, scale),
        told=tuple(_told(sheet, one) for one in found),
        table=table.table(sheet),
        swatches=legend.swatches(),
        kinds=legend.kinds(batches),
        batches=batches,
        prefix=prefix,
    )


def _told(sheet: Sheet, one: Numbered) -> Told:
    room = one.breach.room
    return Told(
        numbered=one,
        sentence=sheet.sentence(one.breach),
        housing=sheet.housings[room] if room else None,
        batches=tuple(sheet.batches[key] for key in one.breach.groups),
    )
