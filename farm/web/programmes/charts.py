"""Curves as drawings: where lines, ticks and labels stand in an SVG of fixed size. No colours here, only classes."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from django.utils.formats import number_format
from django.utils.translation import gettext as _
from numpy.typing import NDArray

from farm import units
from farm.husbandry import curve, growth, rations, survival
from farm.phrase import N_, Quantity
from farm.trade.programme import CURVES, Programme

WIDTH = 640
_LEFT, _RIGHT, _TALL, _BELOW = 66, 12, 190, 60
_LEGEND = 32  # a row of the legend, which holds two labels
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Line:
    """One line: its points as SVG writes them, its pattern, its label, and where the label's sample stands."""

    points: str
    pattern: str
    label: str
    x: int
    end: int
    y: int


@dataclass(frozen=True, slots=True)
class Chart:
    """One drawing with its words: `summary` says what the lines do, for those who do not see them."""

    key: str
    title: str
    unit: str
    summary: str
    lines: tuple[Line, ...]
    across: tuple[tuple[float, str], ...]
    up: tuple[tuple[float, str], ...]
    top: int
    bottom: int
    height: int
    width: int = WIDTH
    left: int = _LEFT
    right: int = WIDTH - _RIGHT


@dataclass(frozen=True, slots=True)
class _Plan:
    """What one drawing shows: its lines as (label, values by age), their SI unit ("" for percent), the curves read."""

    key: str
    title: str
    unit: str
    lines: tuple[tuple[str, Callable[[Programme, Floats], Floats]], ...]
    curves: tuple[str, ...]


def _read(name: str) -> Callable[[Programme, Floats], Floats]:
    return lambda programme, ages: curve.of(programme, name, ages)


def _weight(sex: str) -> Callable[[Programme, Floats], Floats]:
    return lambda programme, ages: growth.weight_g(programme, ages, sex)


def _eaten(sex: str) -> Callable[[Programme, Floats], Floats]:
    return lambda programme, ages: rations.feed_eaten_kg(programme, ages, sex)


_FEMALE, _MALE = (N_("female"), growth.FEMALE), (N_("male"), growth.MALE)
_PLANS = (
    _Plan("temperature", N_("Temperature"), "degC", ((N_("at back height"), _read("temp_c")),), ("temp_c",)),
    _Plan("area", N_("Floor area a bird"), "m2", ((N_("floor"), _read("area_m2")),), ("area_m2",)),
    _Plan(
        "edges",
        N_("Feeder and drinker edge a bird"),
        "cm",
        ((N_("feeder"), _read("feeder_cm")), (N_("drinker"), _read("drinker_cm"))),
        ("feeder_cm", "drinker_cm"),
    ),
    _Plan(
        "weight",
        N_("Weight"),
        "g",
        tuple((label, _weight(sex)) for label, sex in (_FEMALE, _MALE)),
        ("weight_female_g", "weight_male_g"),
    ),
    _Plan(
        "feed",
        N_("Feed eaten since hatch"),
        "kg",
        tuple((label, _eaten(sex)) for label, sex in (_FEMALE, _MALE)),
        ("feed_eaten_female_kg", "feed_eaten_male_kg"),
    ),
    _Plan(
        "survival",
        N_("Expected alive of 100 hatched"),
        "",
        ((N_("alive"), lambda programme, ages: 100 * survival.surviving_share(programme, ages)),),
        ("lost_share",),
    ),
)


def charts(programme: Programme, system: str) -> list[Chart]:
    """Return the drawings of a programme."""
    return [
        _draw(plan, [(_(label), read, programme) for label, read in plan.lines], system) for plan in _PLANS
    ]


def compared(old: Programme, new: Programme, system: str) -> list[Chart]:
    """Return the drawings whose curves differ, the old line beside the new."""
    found = []
    for plan in _PLANS:
        if all(old.curves[name] == new.curves[name] for name in plan.curves):
            continue
        several = len(plan.lines) > 1
        lines = []
        for label, read in plan.lines:
            word = f" ({_(label)})" if several else ""
            lines += [(_("now") + word, read, old), (_("then") + word, read, new)]
        found.append(_draw(plan, lines, system))
    return found


def _draw(
    plan: _Plan,
    lines: Sequence[tuple[str, Callable[[Programme, Floats], Floats], Programme]],
    system: str,
) -> Chart:
    last = (
        max(programme.curves[name][-1].day for _label, _read, programme in lines for name in plan.curves) + 7
    )
    law = CURVES[plan.curves[0]][1]
    ages = np.arange(last + 1, dtype=np.float64)
    values = [_in_units(read(programme, ages), plan.unit, system) for _label, read, programme in lines]
    low, high, ticks = _scale(
        min(float(v.min()) for v in values), max(float(v.max()) for v in values), plan.unit
    )
    top = _LEGEND * math.ceil(len(lines) / 2) + 6
    x, y = _along(last), _upward(low, high, top)
    unit = units.label(plan.unit, system) if plan.unit else ""
    return Chart(
        key=plan.key,
        title=_(plan.title),
        unit=unit,
        summary="; ".join(
            _summary(label, one, unit, last) for (label, _r, _p), one in zip(lines, values, strict=True)
        ),
        lines=tuple(
            _line(index, label, _points(x, y, one, law))
            for index, ((label, _r, _p), one) in enumerate(zip(lines, values, strict=True))
        ),
        across=tuple((round(x(day), 1), str(day // 7)) for day in range(0, last + 1, _week_step(last))),
        up=tuple((round(y(tick), 1), number_format(f"{tick:g}")) for tick in ticks),
        top=top,
        bottom=top + _TALL,
        height=top + _TALL + _BELOW,
    )


def _line(index: int, label: str, points: str) -> Line:
    across, down = index % 2, index // 2
    x = _LEFT + across * (WIDTH - _LEFT) // 2
    return Line(points, f"line-{index}", label, x, x + 36, _LEGEND // 2 + down * _LEGEND)


def _in_units(values: Floats, unit: str, system: str) -> Floats:
    if not unit:
        return values
    zero, one = (units.shown(Quantity(number, unit), system)[0] for number in (0.0, 1.0))
    return values * (one - zero) + zero


def _scale(low: float, high: float, unit: str) -> tuple[float, float, list[float]]:
    """Return the ends and ticks of the upright axis: round numbers; from 0 but for temperatures and survival."""
    if unit not in ("degC", ""):
        low = min(low, 0.0)
    span = max(high - low, 1e-6)
    step = 10 ** math.floor(math.log10(span / 4))
    step *= next(times for times in (1, 2, 5, 10) if span / (step * times) <= 5)
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    ticks = [round(step * index, 10) for index in range(first, max(last, first + 1) + 1)]
    return ticks[0], ticks[-1], ticks


def _along(last: int) -> Callable[[float], float]:
    return lambda day: _LEFT + (WIDTH - _LEFT - _RIGHT) * day / last


def _upward(low: float, high: float, top: int) -> Callable[[float], float]:
    return lambda value: top + _TALL - _TALL * (value - low) / (high - low)


def _week_step(last: int) -> int:
    return next(weeks * 7 for weeks in (1, 2, 4, 8, 13, 26, 52, 104) if last / (weeks * 7) <= 13)


def _points(x: Callable[[float], float], y: Callable[[float], float], values: Floats, law: str) -> str:
    found: list[str] = []
    for day, value in enumerate(values):
        if law == "step" and day and value != values[day - 1]:
            found.append(f"{x(day):.1f},{y(float(values[day - 1])):.1f}")
        if law != "step" or day in (0, len(values) - 1) or value != values[day - 1]:
            found.append(f"{x(day):.1f},{y(float(value)):.1f}")
    return " ".join(found)


def _summary(label: str, values: Floats, unit: str, last: int) -> str:
    first, end = (number_format(f"{float(value):.4g}") for value in (values[0], values[-1]))
    return _("%(label)s: %(first)s %(unit)s at hatch, %(end)s %(unit)s at %(weeks)d weeks") % {
        "label": label,
        "first": first,
        "end": end,
        "unit": unit,
        "weeks": last // 7,
    }
