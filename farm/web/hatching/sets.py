"""The page of one egg set, and its card to print and hang at the machine."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse
from django.views.decorators.http import require_safe

from farm.husbandry import humidity, incubation
from farm.husbandry.incubation import Air, Climate
from farm.models import EggSet, Machine
from farm.models.egg_set import EggKind, EggSetState
from farm.phrase import N_, Phrase
from farm.queries import agenda, hatching, lookup
from farm.queries.agenda import Due
from farm.queries.hatching import SetRow
from farm.trade.eggs import egg_kind
from farm.trade.general import figure, general
from farm.web.access import FarmRequest, farm_page
from farm.web.help.pieces import Cited, cited
from farm.web.housing.card import qr_svg

_BEFORE_DAYS = 2  # steps that come before the birds: the brooder warmed up
#: The figures behind what a machine should show.
_TARGETS = (
    *("setter_c", "still_air_c", "hatcher_cooler_c", "temp_swing_c", "turns_a_day"),
    *("setter_rh", "setter_rh_low", "setter_rh_high", "hatcher_rh", "hatcher_rh_low", "hatcher_rh_high"),
)


@dataclass(frozen=True, slots=True)
class Phase:
    """A phase in one machine over [start, end): what it should show. wet_c: by the wet bulb. last: from lockdown on."""

    machine: Machine
    start: date
    end: date
    climate: Climate
    wet_c: float
    last: bool


@dataclass(frozen=True, slots=True)
class Day:
    """A day of an egg set: what it is. until: the last day of a window. passed: it is over."""

    day: date
    what: Phrase
    until: date | None
    passed: bool


@require_safe
@farm_page()
def page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one egg set: where it stands, what is next, its days, what the machine should show, and what was found."""
    egg_set = lookup.get(EggSet, farm_id=request.visit.farm.pk, pk=pk)
    return render(request, "web/hatching/set.html", _context(egg_set, request.visit.by.today))


@require_safe
@farm_page()
def printed(request: FarmRequest, pk: int) -> HttpResponse:
    """Show the card to print and hang at the machine: its days, its targets, and a code that opens the set's page."""
    egg_set = lookup.get(EggSet, farm_id=request.visit.farm.pk, pk=pk)
    address = settings.ADDRESS.rstrip("/") + reverse("egg-set", args=[pk])
    context = _context(egg_set, request.visit.by.today) | {"address": address, "qr": qr_svg(address)}
    return render(request, "web/hatching/card.html", context)


def _context(egg_set: EggSet, today: date) -> dict[str, object]:
    row = hatching.row(egg_set, today)
    return {
        "row": row,
        "egg_set": row.egg_set,
        "today": today,
        "number": day_number(row, today),
        "of": (row.dates.hatch_day - row.dates.set_on).days,
        "phases": phases(row.egg_set, row),
        "cited": target_sources(row.egg_set.species),
        "days": days(row, today),
        "next": next_step(row, today),
        "may_hatch": row.egg_set.state == EggSetState.OPEN and today >= row.dates.hatch_first,
        "results": [(EggKind(kind).label, eggs) for kind, eggs in row.results.items()],
        "entries": egg_set.entries.select_related("member").order_by("-day", "-pk"),
    }


def day_number(row: SetRow, today: date) -> int:
    """Return the day of incubation, 0 on the day they are set."""
    return (today - row.dates.set_on).days


def next_step(row: SetRow, today: date) -> Due | None:
    """Return the first step of an open set that is not ticked and whose time is not over."""
    batch = row.egg_set.batch
    if row.egg_set.state != EggSetState.OPEN or batch is None:
        return None
    span = (row.dates.out_latest - row.dates.hatch_day).days + _BEFORE_DAYS + 1
    for due in agenda.for_batch(batch, today, span):
        over = (due.item.until or due.item.due + timedelta(days=1)) <= today
        if due.open and (not over or due.item.open_ended):
            return due
    return None


def phases(egg_set: EggSet, row: SetRow) -> tuple[Phase, ...]:
    """Return what the machines should show until lockdown and from then on."""
    dates = row.dates
    return (
        _phase(egg_set.setter, egg_set.species, dates.set_on, dates.lockdown, False),
        _phase(egg_set.hatcher, egg_set.species, dates.lockdown, dates.out_latest, True),
    )


def target_sources(species: str) -> list[Cited]:
    """Return who says what a machine should show for the eggs of a species, each once."""
    notes = [general()["incubation"][name].source for name in _TARGETS]
    notes.append(egg_kind(species).sources["rh_extra"])
    return cited("; ".join(dict.fromkeys(part for note in notes for part in note.split("; "))))


def _phase(machine: Machine, species: str, start: date, end: date, last: bool) -> Phase:
    air: Air = "still" if machine.air == "still" else "forced"
    climate = incubation.climate(species, air, last)
    return Phase(machine, start, end, climate, humidity.wet_bulb_c(climate.temp_c, climate.rh), last)


def days(row: SetRow, today: date) -> tuple[Day, ...]:
    """Return the days of an egg set in order."""
    dates = row.dates
    turned = dates.lockdown - timedelta(days=1)
    found: list[tuple[date, Phrase, date | None]] = [(dates.set_on, Phrase(N_("set")), None)]
    if not row.egg_set.setter.turns_itself:
        turns = int(figure("incubation", "turns_a_day"))
        text = Phrase(N_("turn by hand, %(n)d times a day"), {"n": turns})
        found.append((dates.turn_from, text, turned))
    for day in dates.candlings:
        after = {"n": (day - dates.set_on).days}
        if day != dates.lockdown:
            found.append((day, Phrase(N_("candle, day %(n)d"), after), None))
    moved = row.egg_set.setter_id != row.egg_set.hatcher_id
    last = (
        N_("candle, move to the hatcher, humidity up") if moved else N_("candle, stop turning, humidity up")
    )
    found.append((dates.lockdown, Phrase(last), None))
    found.append((dates.hatch_first, Phrase(N_("they may hatch")), dates.hatch_last))
    found.append((dates.hatch_day, Phrase(N_("the hatch is expected")), None))
    found.append((dates.out_latest, Phrase(N_("the machine is emptied and cleaned")), None))
    return tuple(
        Day(day, what, until, (until or day) < today)
        for day, what, until in sorted(found, key=lambda one: one[0])
    )
