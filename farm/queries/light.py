"""Light of a housing: whose programme counts on which day, the hours of light, and how its timer is set."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from zoneinfo import ZoneInfo

from farm.husbandry.light import lamps, programme
from farm.husbandry.light.lamps import Place, Setting
from farm.husbandry.light.programme import Lit
from farm.models import Batch, Farm, Housing
from farm.models.housing import Light
from farm.phrase import Phrase
from farm.planning.window import Window
from farm.queries import programmes


@dataclass(frozen=True, slots=True)
class Span:
    """Days [start, end) on which one batch's programme counts in a housing."""

    batch: Batch
    lit: Lit
    start: date
    end: date

    @property
    def ages(self) -> tuple[int, int]:
        """Return the first day of age and the one after the last."""
        hatched = self.lit.hatch_day
        return (self.start - hatched).days, (self.end - hatched).days


@dataclass(frozen=True, slots=True)
class Hours:
    """Hours of one day: the sun's, and those wanted."""

    day: date
    natural: float
    wanted: float


@dataclass(frozen=True, slots=True)
class Shown:
    """A housing's light as its page shows it. hours: of each day from today on for a year, of the batch there now."""

    span: Span
    hours: tuple[Hours, ...]
    settings: tuple[Setting, ...]
    notes: tuple[Phrase, ...]


def has_place(farm: Farm) -> bool:
    """Say whether the farm's place on earth is known, without which nobody knows its sun."""
    return farm.latitude is not None and farm.longitude is not None


def spans(housing: Housing, farm: Farm, window: Window) -> list[Span]:
    """Return whose light counts when: birds reared to lay before others, then the oldest. None without light."""
    if housing.light == Light.NONE or farm.latitude is None:
        return []
    stays = list(housing.stays.select_related("batch__programme_version"))
    lit = {stay.batch_id: _lit(stay.batch, housing, farm.latitude) for stay in stays}
    batches = {stay.batch_id: stay.batch for stay in stays}
    found: list[Span] = []
    for day in window.dates():
        there = [
            stay.batch_id
            for stay in stays
            if stay.start <= day
            and (stay.end is None or day < stay.end)
            and lit[stay.batch_id].hatch_day <= day
        ]
        if not there:
            continue
        first = min(there, key=lambda key: (not lit[key].lays, lit[key].hatch_day, key))
        if found and found[-1].batch.pk == first and found[-1].end == day:
            found[-1] = Span(batches[first], lit[first], found[-1].start, day + timedelta(days=1))
        else:
            found.append(Span(batches[first], lit[first], day, day + timedelta(days=1)))
    return found


def settings(span: Span, farm: Farm) -> tuple[Setting, ...]:
    """Return how the timer is set over a span; nothing where the place is not known or has no programme."""
    if farm.longitude is None:
        return ()
    return lamps.timer(span.lit, Place(farm.longitude, ZoneInfo(farm.time_zone)), *span.ages) or ()


def shown(housing: Housing, farm: Farm, today: date, weeks: int, year_days: int) -> Shown | None:
    """Return the light of a housing over the coming weeks, None where no birds with a programme are or come."""
    ahead = spans(housing, farm, Window(today, weeks * 7))
    if not ahead:
        return None
    first = ahead[0]
    age = first.ages[0]
    return Shown(
        first,
        tuple(_hours(first.lit, age, year_days)),
        tuple(setting for span in ahead for setting in settings(span, farm)),
        programme.notes(first.lit, age),
    )


def _hours(lit: Lit, age: int, days: int) -> Iterator[Hours]:
    natural, wanted = programme.natural_hours(lit, age + days), programme.wanted_hours(lit, age + days)
    if wanted is not None:
        for each in range(age, age + days):
            yield Hours(lit.hatch_day + timedelta(days=each), float(natural[each]), float(wanted[each]))


def _lit(batch: Batch, housing: Housing, latitude: float) -> Lit:
    return Lit(
        programmes.of(batch), batch.sex, batch.hatch_day, latitude, closed=housing.light == Light.CLOSED
    )
