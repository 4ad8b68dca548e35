"""What this farm has learned: how many eggs are fertile and hatch, and how many bought chicks arrive alive."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext
from django.views.decorators.http import require_safe

from farm.husbandry.learning import Belief
from farm.models import EggSet, Farm
from farm.models.egg_set import EggSetState
from farm.queries.hatch_rates import FarmRates, SpeciesRates
from farm.trade import species
from farm.trade.eggs import egg_kind
from farm.trade.general import figure, general
from farm.web.access import FarmRequest, farm_page
from farm.web.help.pieces import Cited, cited

_WIDTH, _PADDING = 200.0, 6.0  # of the little drawing of a rate, in its own units


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate in whole percent with the span it lies in 9 times of 10, and the drawing's x of each.

    table: what the tables say, with who says so. seen: eggs or chicks of this farm behind it.
    """

    percent: int
    low: int
    high: int
    table: int
    cited: tuple[Cited, ...]
    seen: int

    @property
    def x(self) -> float:
        """Return where the rate is drawn."""
        return _x(self.percent)

    @property
    def low_x(self) -> float:
        """Return where its span begins."""
        return _x(self.low)

    @property
    def high_x(self) -> float:
        """Return where its span ends."""
        return _x(self.high)

    @property
    def table_x(self) -> float:
        """Return where the tables' figure is drawn."""
        return _x(self.table)


@dataclass(frozen=True, slots=True)
class Month:
    """The hatch rate of eggs that hatch in a month; `day` is its first day, for its name. sets: behind it."""

    day: date
    rate: Rate
    sets: int


@dataclass(frozen=True, slots=True)
class Shown:
    """One species: what the farm knows of its eggs and of chicks bought. months: those with own sets."""

    name: str
    known: SpeciesRates
    fertility: Rate
    hatch: Rate
    arrives: Rate
    months: tuple[Month, ...]

    @property
    def own(self) -> bool:
        """Say whether anything of the farm's own stands behind it."""
        return bool(self.known.sets or self.known.intakes)


@require_safe
@farm_page()
def page(request: FarmRequest) -> HttpResponse:
    """Show the farm's rates beside the tables'."""
    found = list(_shown(request.visit.farm, request.visit.by.today))
    context = {
        "own": [one for one in found if one.own],
        "tables": [one for one in found if not one.own],
        "worth": int(figure("incubation", "prior_eggs")),
        "width": _WIDTH,
    }
    return render(request, "web/hatching/rates.html", context)


def _shown(farm: Farm, today: date) -> Iterator[Shown]:
    rates, sets = FarmRates(farm), _sets_by_month(farm)
    for key, one in species.species().items():
        known, kind = rates.of(key), egg_kind(key)
        hatch = _rate(known.learned.hatch, kind.hatch_rate, kind.sources["hatch_rate"], known.eggs)
        lost = 1 - figure("losses", "lost_on_the_way")
        months = (
            _month(known, month, sets.get((key, month), 0), hatch, today)
            for month in known.learned.by_month
            if sets.get((key, month))
        )
        candled = round(known.learned.fertility.worth - figure("incubation", "prior_eggs"))
        yield Shown(
            name=gettext(one.plural),
            known=known,
            fertility=_rate(known.learned.fertility, kind.fertility, kind.sources["fertility"], candled),
            hatch=hatch,
            arrives=_rate(known.arrives, lost, general()["losses"]["lost_on_the_way"].source, known.chicks),
            months=tuple(months),
        )


def _month(known: SpeciesRates, month: int, sets: int, hatch: Rate, today: date) -> Month:
    belief = known.learned.by_month[month]
    eggs = round(belief.worth - figure("incubation", "prior_eggs"))
    low, high = belief.interval()
    rate = Rate(_percent(belief.mean), _percent(low), _percent(high), hatch.table, hatch.cited, eggs)
    return Month(date(today.year, month, 1), rate, sets)


def _rate(belief: Belief, table: float, note: str, seen: int) -> Rate:
    low, high = belief.interval()
    return Rate(
        _percent(belief.mean), _percent(low), _percent(high), _percent(table), tuple(cited(note)), seen
    )


def _sets_by_month(farm: Farm) -> dict[tuple[str, int], int]:
    found: dict[tuple[str, int], int] = {}
    rows = EggSet.objects.filter(farm=farm, state=EggSetState.HATCHED)
    for key, day in rows.values_list("species", "hatched_on"):
        assert day is not None, "a set that hatched has its day"
        found[key, day.month] = found.get((key, day.month), 0) + 1
    return found


def _percent(share: float) -> int:
    return round(100 * share)


def _x(percent: int) -> float:
    return round(_PADDING + (_WIDTH - 2 * _PADDING) * percent / 100, 1)
