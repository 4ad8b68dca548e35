"""A farm's daily weather record, read from the text of a table: each day's lowest and highest temperature.

What cannot be right is said by row, what can be read two ways is asked, and a gap stays a gap.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from statistics import median
from typing import Literal

from farm.husbandry import weather_cells as cells
from farm.husbandry.weather_cells import CellError, Unit
from farm.husbandry.weather_rows import Field, Row, RowProblem, Typed, Unreadable, rows_of
from farm.phrase import N_, Phrase

#: Half of all days reach more than this: hardly anywhere in °C, nearly everywhere in °F. Only ever asked.
_ASK_UNIT = 35.0

Doubt = Literal["unit", "order", "swapped"]


@dataclass(frozen=True, slots=True)
class DayRecord:
    """One day's lowest and highest temperature, °C; None where none was read."""

    day: date
    low_c: float | None
    high_c: float | None


@dataclass(frozen=True, slots=True)
class Question:
    """Something that can be read two ways; the answer goes into the field of Answers of that name."""

    about: Doubt
    text: Phrase


@dataclass(frozen=True, slots=True)
class Answers:
    """What the keeper said. unit: of the numbers; day_first: of days with slashes; swapped: the columns are."""

    unit: Unit | None = None
    day_first: bool | None = None
    swapped: bool | None = None


@dataclass(frozen=True, slots=True)
class Read:
    """What a text held. While a question is open no day is taken. days: by date, each once.

    notes: what is missing, for the keeper to know; it stops nothing.
    """

    days: tuple[DayRecord, ...] = ()
    problems: tuple[RowProblem, ...] = ()
    questions: tuple[Question, ...] = ()
    notes: tuple[Phrase, ...] = ()


def read(text: str, answers: Answers = Answers(), unit: Unit = "C", today: date | None = None) -> Read:
    """Return the days of a table parted by commas, semicolons or tabs.

    unit: of columns whose headings name none. today: days after it are refused.
    """
    try:
        columns, rows, problems = rows_of(text)
    except Unreadable as why:
        return Read(problems=(why.problem,))
    if answers.swapped:
        rows = [replace(row, low=row.high, high=row.low) for row in rows]
    named = columns.unit or unit
    first = _day_first(rows) if answers.day_first is None else answers.day_first
    questions = tuple(_questions(rows, named, first, answers))
    if questions:
        return Read(questions=questions)
    days, found = _days(rows, answers.unit or named, first is not False, today)
    if not (rows or problems):
        problems = [RowProblem(0, "", Phrase(N_("There is no day below the headings.")))]
    every = sorted((*problems, *found), key=lambda problem: problem.row)
    return Read(tuple(days[day] for day in sorted(days)), tuple(every), notes=tuple(_notes(sorted(days))))


def _day_first(rows: Sequence[Row]) -> bool | None:
    """Return whether days come before months, by most of the dates that can be read one way; None where none can."""
    told = [order for row in rows if (order := cells.day_first(row.day)) is not None]
    return 2 * sum(told) >= len(told) if told else None


def _questions(rows: Sequence[Row], unit: Unit, first: bool | None, answers: Answers) -> Iterator[Question]:
    unclear = next((row.day for row in rows if cells.two_ways(row.day)), None)
    if first is None and unclear is not None:
        text = N_("In dates like %(text)s, which comes first: the day or the month?")
        yield Question("order", Phrase(text, {"text": unclear}))
    both = [
        (row.low[0], row.high[0])
        for row in rows
        if isinstance(row.low, tuple) and isinstance(row.high, tuple) and row.low[1] == row.high[1] is None
    ]
    if not both:
        return
    if answers.swapped is None and 2 * sum(low > high for low, high in both) > len(both):
        text = N_(
            "On most days the lowest temperature is above the highest. Do the two columns change places?"
        )
        yield Question("swapped", Phrase(text))
    if answers.unit is None and (median(max(pair) for pair in both) > _ASK_UNIT) == (unit == "C"):
        yield Question("unit", Phrase(_LOOKS_F if unit == "C" else _LOOKS_C))


_LOOKS_F = N_("These numbers look like °F, not °C. Shall they be read as °F?")
_LOOKS_C = N_("These numbers look like °C, not °F. Shall they be read as °C?")


def _days(
    rows: Sequence[Row], unit: Unit, first: bool, today: date | None
) -> tuple[dict[date, DayRecord], list[RowProblem]]:
    """Return the days that can be right, and the problems of the other rows."""
    days: dict[date, DayRecord] = {}
    at: dict[date, int] = {}
    problems = []
    for row in rows:
        one = _record(row, unit, first, today)
        if isinstance(one, RowProblem):
            problems.append(one)
        elif one.day not in days:
            days[one.day], at[one.day] = one, row.number
        elif (joined := _joined(days[one.day], one)) is not None:
            days[one.day] = joined
        else:
            text = N_("Row %(row)d has the same day with other temperatures.")
            problems.append(RowProblem(row.number, "day", Phrase(text, {"row": at[one.day]})))
    return days, problems


def _record(row: Row, unit: Unit, first: bool, today: date | None) -> DayRecord | RowProblem:
    field: Field = "day"
    try:
        day = cells.day(row.day, first)
        if today is not None and day > today:
            raise CellError(Phrase(N_("This day is still to come.")))
        field = "low"
        low = _celsius(row.low, unit)
        field = "high"
        high = _celsius(row.high, unit)
    except CellError as why:
        return RowProblem(row.number, field, why.phrase)
    if low is not None and high is not None and low > high:
        return RowProblem(
            row.number, "", Phrase(N_("The lowest temperature is above the highest. Are they swapped?"))
        )
    return DayRecord(day, low, high)


def _celsius(typed: Typed | CellError, unit: Unit) -> float | None:
    if isinstance(typed, CellError):
        raise typed
    return cells.celsius(typed, unit)


def _joined(one: DayRecord, other: DayRecord) -> DayRecord | None:
    """Return two rows of a day as one, a gap filled from the other; None where they disagree."""
    for mine, theirs in ((one.low_c, other.low_c), (one.high_c, other.high_c)):
        if mine is not None and theirs is not None and mine != theirs:
            return None
    low = other.low_c if one.low_c is None else one.low_c
    high = other.high_c if one.high_c is None else one.high_c
    return None if low is not None and high is not None and low > high else DayRecord(one.day, low, high)


def _notes(days: Sequence[date]) -> Iterator[Phrase]:
    """Yield which whole years are missing, and how many days."""
    if not days:
        return
    years = {day.year for day in days}
    for year in range(days[0].year, days[-1].year):
        if year not in years:
            yield Phrase(N_("%(year)d has no day in it."), {"year": year})
    missing = (days[-1] - days[0]).days + 1 - len(days)
    if missing:
        one = N_("%(days)d day between the first and the last is missing; it stays a gap.")
        more = N_("%(days)d days between the first and the last are missing; they stay gaps.")
        yield Phrase(one, {"days": missing}, plural=more, count="days")
