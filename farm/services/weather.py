"""A farm's climate: entered by month, learned from a daily record, or forgotten again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from django.utils.dates import MONTHS
from django.utils.translation import gettext as _

from farm import dispatch, wording
from farm.errors import BadInput
from farm.husbandry.climate import Climate, ClimateError, MonthlyClimate
from farm.husbandry.day_law import NORMAL, Shape
from farm.husbandry.learned_climate import Learned, learned
from farm.husbandry.weather_cells import Unit
from farm.husbandry.weather_record import Answers, Question, Read, read
from farm.husbandry.weather_rows import RowProblem
from farm.models import Weather
from farm.models.member import Role
from farm.phrase import Phrase, Quantity
from farm.queries import lookup
from farm.queries.weather import MONTHLY
from farm.services import stale
from farm.services.actor import Actor
from farm.services.writing import Log, write
from farm.units import US

#: How many wrong rows of a record are said at once.
MOST_PROBLEMS = 20


@dataclass(frozen=True, slots=True)
class Lesson:
    """What a record taught. weather: None while `questions` are open: then nothing is saved. notes: gaps in it."""

    weather: Weather | None
    questions: tuple[Question, ...] = ()
    notes: tuple[Phrase, ...] = ()
    learned: Learned | None = None


def enter(
    by: Actor, *, expected_version: int | None = None, months: Mapping[str, Sequence[float]]
) -> Weather:
    """Set the climate by hand: twelve numbers for each of `queries.weather.MONTHLY`, °C.

    Raises BadInput at `<name>_<month>`, such as low_mean_c_3, and Stale.
    """
    with write(by, "enter climate", role=Role.KEEPER) as log:
        try:
            climate = Climate(MonthlyClimate(*(tuple(months[name]) for name in MONTHLY)))
        except ClimateError as refused:
            raise BadInput(_monthly_problems(refused, log.farm.units)) from refused
        row = _save(log, expected_version, _fields(climate) | {"learned_years": 0, "learned_on": None})
        log.says(row, _("Climate entered by month"))
        _follow(by)
    return row


def learn(
    by: Actor, *, text: str, answers: Answers | None = None, expected_version: int | None = None
) -> Lesson:
    """Learn the climate from a table of days. While something can be read two ways nothing is saved, it is asked.

    Raises BadInput at `text`, a line for each wrong row; Stale.
    """
    with write(by, "learn climate", role=Role.KEEPER) as log:
        unit: Unit = "F" if log.farm.units == US else "C"
        found = read(text, answers or Answers(), unit, by.today)
        if found.problems:
            raise BadInput({"text": _lines(found.problems)})
        if found.questions:
            return Lesson(None, found.questions)
        taught = _taught(found)
        assert taught.climate is not None, "_taught raises without one"
        fields = _fields(taught.climate) | {"learned_years": taught.years, "learned_on": by.today}
        row = _save(log, expected_version, fields)
        log.says(row, _("Climate learned from %(days)d days") % {"days": len(found.days)})
        _follow(by)
    return Lesson(row, notes=found.notes, learned=taught)


def prefer(by: Actor, *, expected_version: int | None, confidence: float, use_forecast: bool) -> Weather:
    """Set how sure a night must be (0.5 to 0.999), and whether a weather service is asked.

    Raises BadInput at confidence, or at use_forecast on a farm whose place is not known; NotFound without a climate;
    Stale.
    """
    with write(by, "change climate", role=Role.KEEPER) as log:
        row = lookup.get(Weather, farm_id=by.farm_id, pk=_key(log))
        stale.check(row, expected_version)
        if not 0.5 <= confidence <= 0.999:
            raise BadInput.at("confidence", _("Enter a number from 50 to 99.9."))
        if use_forecast and (log.farm.latitude is None or log.farm.longitude is None):
            text = _("Write in the settings where the farm is: a weather service has to be told.")
            raise BadInput.at("use_forecast", text)
        log.change(row, confidence=confidence, use_forecast=use_forecast)
        log.says(row, _("Climate settings changed"))
        _follow(by)
    return row


def forget(by: Actor, *, expected_version: int | None) -> None:
    """Forget the climate: age alone decides again. Raises NotFound without one, Stale."""
    with write(by, "forget climate", role=Role.KEEPER) as log:
        row = lookup.get(Weather, farm_id=by.farm_id, pk=_key(log))
        stale.check(row, expected_version)
        log.says(row, _("Climate forgotten"))
        log.remove(row)
        _follow(by)


def _key(log: Log) -> int | None:
    return Weather.objects.filter(farm=log.farm).values_list("pk", flat=True).first()


def _save(log: Log, expected_version: int | None, fields: Mapping[str, Any]) -> Weather:
    row = Weather.objects.filter(farm=log.farm).first()
    if row is None:
        row = Weather(farm=log.farm, **fields)
        log.add(row)
        return row
    stale.check(row, expected_version)
    log.change(row, **fields)
    return row


def _fields(climate: Climate) -> dict[str, Any]:
    months = {name: list(getattr(climate.monthly, name)) for name in MONTHLY}
    return months | {"low_shape": _shape(climate.low_shape), "high_shape": _shape(climate.high_shape)}


def _shape(shape: Shape) -> list[list[float]] | None:
    return None if shape == NORMAL else [list(row) for row in shape]


def _follow(by: Actor) -> None:
    """Whatever hangs on the nights is worked out anew."""
    dispatch.after_commit("propose_after", farm_id=by.farm_id, why="climate")
    dispatch.after_commit("fetch_forecast", farm_id=by.farm_id)


def _taught(found: Read) -> Learned:
    try:
        taught = learned(found.days)
    except ClimateError as refused:
        raise BadInput.at("text", _("No place has such temperatures. Look at the columns.")) from refused
    if taught.climate is None:
        months = ", ".join(_month(each) for each in taught.thin_months)
        text = _("There are too few days in: %(months)s. Give a longer record, or enter the months by hand.")
        raise BadInput.at("text", text % {"months": months})
    return taught


def _month(number: int) -> str:
    return str(MONTHS[number])


def _lines(problems: Sequence[RowProblem]) -> list[object]:
    names = {"day": _("day"), "low": _("lowest"), "high": _("highest"), "": ""}
    lines: list[object] = []
    for one in problems[:MOST_PROBLEMS]:
        text = wording.say(one.text)
        if not one.row:
            lines.append(text)
            continue
        place = _("Row %(row)d") % {"row": one.row}
        column = names[one.field]
        lines.append(f"{place}, {column}: {text}" if column else f"{place}: {text}")
    more = len(problems) - MOST_PROBLEMS
    if more > 0:
        lines.append(_("… and %(count)d more rows.") % {"count": more})
    return lines


def _monthly_problems(refused: ClimateError, system: str) -> dict[str, list[object]]:
    found: dict[str, list[object]] = {}
    for one in refused.problems:
        unit = "degC" if one.field.endswith("mean_c") else "delta_degC"
        ends = (wording.quantity(Quantity(each, unit, 1), system) for each in (one.low, one.high))
        text = _("Enter a number from %(low)s to %(high)s.") % dict(zip(("low", "high"), ends, strict=True))
        found.setdefault(f"{one.field}_{one.month}", []).append(text)
    return found
