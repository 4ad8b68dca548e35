"""When a batch may go out, and why not sooner: by day, for the nights outdoors, and for the nights in each housing."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from farm.husbandry import out_words, outdoors
from farm.husbandry.going_out import DayAnswer, NightAnswer
from farm.models import Batch, Housing
from farm.phrase import N_, Phrase
from farm.queries import programmes, weather
from farm.queries.weather import Sky

#: So long after the birds may stay out nobody needs the dates any more. Project default (judgement).
OLD_NEWS_DAYS = 60


@dataclass(frozen=True, slots=True)
class Place:
    """The nights in one housing of the farm."""

    housing: Housing
    night: NightAnswer

    @property
    def sentence(self) -> Phrase:
        """Return its date in one line beside the others."""
        return out_words.with_shelter(self.night)


@dataclass(frozen=True, slots=True)
class OutDates:
    """A batch's dates. by_age: the earliest by age alone; day, night: by the weather, None without a climate.

    places: of the farm's unheated housing that the species may use, the soonest first. unshaped: the climate does not
    tell how far single nights stray.
    """

    out_by_day: date
    by_age: date
    day: DayAnswer | None = None
    night: NightAnswer | None = None
    places: tuple[Place, ...] = ()
    unshaped: bool = False

    @property
    def sentences(self) -> list[Phrase]:
        """Return what is to be said: the day, the nights, the caution."""
        if self.day is None or self.night is None:
            text = N_(
                "By age alone: out by day from %(day)s, out at night from %(night)s if it is warm enough."
            )
            return [Phrase(text, {"day": self.out_by_day, "night": self.by_age}), out_words.CAUTION]
        return [out_words.explain_day(self.day), out_words.explain(self.night), out_words.CAUTION]


def of(batch: Batch, today: date) -> OutDates | None:
    """Return a batch's dates for going out, None once they are long past."""
    programme, sky = programmes.of(batch), weather.of(batch.farm)
    by_day = batch.hatch_day + timedelta(days=outdoors.first_day_out(programme))
    by_age = batch.hatch_day + timedelta(days=outdoors.nights_out_age(programme))
    if sky is None:
        found = OutDates(by_day, by_age)
        last = by_age
    else:
        day, night = sky.out(programme, batch.hatch_day)
        row = weather.stored(batch.farm)
        unshaped = row is None or row.low_shape is None
        places = sorted(
            _places(batch, sky, today), key=lambda one: (one.night.day or date.max, one.housing.pk)
        )
        found = OutDates(by_day, by_age, day, night, tuple(places), unshaped)
        last = night.day or date.max
    return found if last == date.max or today <= last + timedelta(days=OLD_NEWS_DAYS) else None


def _places(batch: Batch, sky: Sky, today: date) -> Iterator[Place]:
    """Yield the nights in each housing in use that the birds could move to, those with heat left out."""
    for housing in Housing.objects.filter(farm=batch.farm, heated=False):
        over = housing.in_service_to is not None and housing.in_service_to <= today
        if over or (housing.species and batch.species not in housing.species):
            continue
        shelter = weather.shelter_of(housing)
        yield Place(housing, sky.night(programmes.of(batch), batch.hatch_day, shelter))
