"""What eggs would come to, shown before they are set: days, chicks to expect, and the room left in each machine."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from django import forms

from farm.errors import NotFound
from farm.husbandry import incubation, odds
from farm.husbandry.incubation import Incubation
from farm.models import Farm, Machine
from farm.planning.machines import room
from farm.queries import hatching, programmes
from farm.queries.hatch_rates import FarmRates
from farm.services.egg_set_rules import MOST_EGGS
from farm.trade.eggs import EggKind, egg_kind
from farm.trade.programme import Programme
from farm.web.forms import DayField

_MOST_SHOWN = 5  # pairs of machines shown; project default (judgement)
_SEARCHED_DAYS = 42  # how far a day with room is looked for; project default (judgement)


class _Asked(forms.Form):
    """The fields of a new egg set that the preview needs, each good or left out."""

    programme = forms.CharField(max_length=60)
    set_on = DayField()
    eggs = forms.IntegerField(min_value=1, max_value=MOST_EGGS, required=False)
    stored_days = forms.IntegerField(min_value=0, max_value=100, required=False)


@dataclass(frozen=True, slots=True)
class Fit:
    """The most eggs that fit in a setter and a hatcher, maybe the same machine."""

    setter: Machine
    hatcher: Machine
    eggs: int


@dataclass(frozen=True, slots=True)
class Preview:
    """What eggs of a type set on a day would come to.

    stored: how long stored eggs are judged, "fine", "late", "refused" or "never" (longer than any are set). expected,
    low, high: chicks of `eggs`, 8 hatches in 10 between low and high; None without a number of eggs. fits: where they
    can go, most eggs first. later: where none of it is enough, the first later day with room, and where.
    """

    dates: Incubation
    kind: EggKind
    stored: str
    stored_days: int
    eggs: int | None
    expected: int | None
    low: int
    high: int
    fits: tuple[Fit, ...]
    later: tuple[date, Fit] | None


def preview(farm: Farm, typed: Mapping[str, Any]) -> Preview | None:
    """Return what the typed fields of a new egg set would come to; None while type or day is missing or wrong."""
    form = _Asked(typed)
    form.is_valid()
    asked = form.cleaned_data
    if not asked.get("programme") or not asked.get("set_on"):
        return None
    try:
        programme = programmes.shown(farm.pk, asked["programme"]).programme
    except NotFound:
        return None
    return _preview(
        farm, programme, asked["set_on"], asked.get("eggs") or None, asked.get("stored_days") or 0
    )


def _preview(farm: Farm, programme: Programme, set_on: date, eggs: int | None, stored_days: int) -> Preview:
    dates, kind = incubation.incubation(programme, set_on), egg_kind(programme.species)
    expected, low, high = None, 0, 0
    if eggs is not None:
        law = odds.birds(eggs, FarmRates(farm).stages(programme, stored_days, dates.hatch_day.month))
        expected, (low, high) = round(odds.mean(law)), odds.band(law)
    long = stored_days > kind.longest_storage_days
    space = _Space(farm, programme)
    fits = space.on(set_on)
    return Preview(
        dates=dates,
        kind=kind,
        stored="never" if long else incubation.storage(programme.species, stored_days),
        stored_days=stored_days,
        eggs=eggs,
        expected=expected,
        low=low,
        high=high,
        fits=fits[:_MOST_SHOWN],
        later=None if fits and fits[0].eggs >= (eggs or 1) else space.after(set_on, eggs or 1),
    )


class _Space:
    """The room of a farm's machines for eggs of a type, read once for any number of days."""

    def __init__(self, farm: Farm, programme: Programme) -> None:
        self.programme = programme
        self.machines, self.loads = hatching.machine_records(farm)
        self.rows = {str(row.pk): row for row in Machine.objects.filter(farm=farm)}

    def on(self, set_on: date) -> tuple[Fit, ...]:
        """Return where eggs set on a day can go, most eggs first."""
        dates = incubation.incubation(self.programme, set_on)
        found = room(
            self.machines, self.loads, self.programme.species, set_on, dates.lockdown, dates.hatch_day
        )
        return tuple(Fit(self.rows[one.setter], self.rows[one.hatcher], one.eggs) for one in found)

    def after(self, day: date, eggs: int) -> tuple[date, Fit] | None:
        """Return the first day after `day` on which so many eggs fit together, and where; None for none soon."""
        for offset in range(1, _SEARCHED_DAYS + 1):
            later = day + timedelta(days=offset)
            fits = self.on(later)
            if fits and fits[0].eggs >= eggs:
                return later, fits[0]
        return None
