"""What the pages show of a calendar: its state, its entries, the days it makes away, and what the rota would become."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from calendars.incoming import queries, words
from calendars.incoming.models import OuterCalendar
from calendars.incoming.records import Entry, Reading, Span
from farm.models import Away, Farm, Member
from farm.queries import rota
from farm.services import aways
from farm.web.access import Visit
from farm.web.people import preview


@dataclass(frozen=True, slots=True)
class Line:
    """An entry and its days in words. title: "" where the visitor may not read it."""

    title: str
    days: str
    counts: bool


@dataclass(frozen=True, slots=True)
class Shown:
    """What a reading comes to. away: all days it tells of; new: those not away yet. outcome: None without a rota."""

    away: tuple[str, ...]
    new: tuple[str, ...]
    lines: tuple[Line, ...]
    left: int
    skipped: int
    outcome: preview.Preview | None

    @property
    def silent(self) -> tuple[Line, ...]:
        """Return the entries that make nobody away."""
        return tuple(line for line in self.lines if not line.counts)

    @property
    def counting(self) -> tuple[Line, ...]:
        """Return the entries that make days away."""
        return tuple(line for line in self.lines if line.counts)


def of_reading(visit: Visit, calendar: OuterCalendar, reading: Reading, new: Sequence[Span]) -> Shown:
    """Return what a reading of a calendar comes to, for who looks."""
    titles = queries.may_read_titles(visit.member, calendar)
    return Shown(
        away=_said(reading.spans),
        new=_said(new),
        lines=tuple(_line(each, titles) for each in reading.entries),
        left=reading.left,
        skipped=reading.skipped,
        outcome=_outcome(visit, calendar.member, new),
    )


def of_calendar(visit: Visit, calendar: OuterCalendar) -> Shown:
    """Return what a calendar told last."""
    reading = queries.reading_of_last(calendar) or Reading(spans=tuple(queries.spans_of(calendar)))
    return of_reading(visit, calendar, reading, queries.new_days(calendar, visit.by.today))


def failure(calendar: OuterCalendar) -> str:
    """Return why a calendar gave nothing the last time, "" when it did."""
    return words.of(calendar.failure) if calendar.failure else ""


def _line(entry: Entry, titles: bool) -> Line:
    days = _said([(entry.first, date.fromordinal(entry.last.toordinal() + 1))])[0]
    return Line(entry.title if titles else "", days, entry.counts)


def _said(spans: Iterable[Span]) -> tuple[str, ...]:
    return tuple(aways.days(Away(start=start, end=end)) for start, end in spans)


def _outcome(visit: Visit, member: Member, new: Sequence[Span]) -> preview.Preview | None:
    farm: Farm = visit.farm
    if rota.rules(farm) is None or not new:
        return None
    return preview.of_spans(farm, member, new, today=visit.by.today, now=visit.by.now)
