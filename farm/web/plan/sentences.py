"""Changes that a plan tries, in a keeper's words."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from typing import Any

from farm.phrase import N_, Phrase, Quantity, Value
from farm.planning import changes
from farm.planning.changes import Change
from farm.planning.problem import Problem


def said(wanted: Sequence[Change], problem: Problem) -> list[Phrase]:
    """Return each change in a sentence. problem: with the changes made, for the names."""
    names = _Names(problem)
    return [_SENTENCES[type(each)](each, names) for each in wanted]


class _Names:
    """The names of housings and batches, which count their keys apart; a key of neither stands for itself."""

    def __init__(self, problem: Problem) -> None:
        self._housings = {each.key: each.name for each in problem.housings}
        self._batches = {each.key: each.name for each in problem.batches}

    def housing(self, key: str) -> str:
        return self._housings.get(key, key)

    def batch(self, key: str) -> str:
        return self._batches.get(key, key)


def _bounded(text: str, ended: str, values: dict[str, Value], end: date | None) -> Phrase:
    if end is None:
        return Phrase(text, values)
    return Phrase(ended, values | {"last": end - timedelta(days=1)})


def _batch_said(each: Any, _names: _Names) -> Phrase:
    batch = each.batch
    values = {"birds": batch.birds, "name": batch.name, "day": batch.arrival.day}
    return Phrase(N_("Add %(birds)d birds (%(name)s), arriving on %(day)s"), values)


def _housing_said(each: Any, _names: _Names) -> Phrase:
    housing = each.housing
    values: dict[str, Value] = {
        "name": housing.name,
        "area": Quantity(housing.area_dm2 / 100, "m2", 2),
    }
    if housing.in_service_from is None:
        return Phrase(N_("Add housing: %(name)s, %(area)s"), values)
    values["day"] = housing.in_service_from
    return _bounded(
        N_("Add housing: %(name)s, %(area)s, from %(day)s"),
        N_("Add housing: %(name)s, %(area)s, from %(day)s to %(last)s"),
        values,
        housing.in_service_to,
    )


def _lost_said(each: Any, names: _Names) -> Phrase:
    return _bounded(
        N_("%(name)s is out of use from %(day)s on"),
        N_("%(name)s is out of use from %(day)s to %(last)s"),
        {"name": names.housing(each.housing), "day": each.start},
        each.end,
    )


def _area_said(each: Any, names: _Names) -> Phrase:
    values: dict[str, Value] = {
        "name": names.housing(each.housing),
        "area": Quantity(each.area_dm2 / 100, "m2", 2),
    }
    if each.start is None:
        return Phrase(N_("%(name)s has %(area)s of floor"), values)
    values["day"] = each.start
    return _bounded(
        N_("%(name)s has %(area)s of floor from %(day)s on"),
        N_("%(name)s has %(area)s of floor from %(day)s to %(last)s"),
        values,
        each.end,
    )


def _pin_said(each: Any, names: _Names) -> Phrase:
    values: dict[str, Value] = {
        "name": names.batch(each.batch),
        "room": names.housing(each.housing),
        "day": each.start,
        "last": each.end - timedelta(days=1),
    }
    return Phrase(N_("%(name)s stay in %(room)s from %(day)s to %(last)s"), values)


def _plainly(text: str, *fields: str) -> Callable[[Any, _Names], Phrase]:
    """Return a sentence maker that names the batch or housing and says the other fields as they are."""

    def make(each: Any, names: _Names) -> Phrase:
        values = {field: getattr(each, field) for field in fields}
        for field in ("batch", "housing"):
            if hasattr(each, field):
                values[field] = getattr(names, field)(getattr(each, field))
        return Phrase(text, values)

    return make


_SENTENCES: Mapping[type[Any], Callable[[Any, _Names], Phrase]] = {
    changes.AddBatch: _batch_said,
    changes.AddHousing: _housing_said,
    changes.LoseHousing: _lost_said,
    changes.ChangeArea: _area_said,
    changes.PinStay: _pin_said,
    changes.DropBatch: _plainly(N_("%(batch)s do not come")),
    changes.MoveArrival: _plainly(N_("%(batch)s arrive on %(day)s"), "day"),
    changes.ChangeBirds: _plainly(N_("%(batch)s are %(birds)d birds"), "birds"),
    changes.LeaveEarly: _plainly(N_("%(batch)s leave %(days)d days earlier"), "days"),
    changes.AllowSplit: _plainly(N_("%(batch)s may live in up to %(parts)d parts"), "parts"),
    changes.ForbidHousing: _plainly(N_("%(batch)s stay out of %(housing)s")),
    changes.DropPins: _plainly(N_("%(batch)s are not pinned")),
    changes.WaiveRest: _plainly(N_("%(housing)s rests %(days)d days less after birds"), "days"),
}
