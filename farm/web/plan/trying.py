"""Forms of changes into the planner's typed changes, and those changes in a keeper's words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

from django.core import signing
from django.utils.translation import gettext

from farm.models import Farm, Plan
from farm.models.housing import HousingKind
from farm.phrase import N_, Phrase, Quantity, Value
from farm.planning import changes
from farm.planning.changes import Change
from farm.planning.problem import Batch, Housing, Problem
from farm.queries import kinds, trial_rows

_SALT = "plan-changes"
_BORROWED = N_("Borrowed %(kind)s")
_OUTSIDE = frozenset({"run", "paddock"})
Given = Mapping[str, Any]


def change(farm: Farm, problem: Problem, kind: str, given: Given) -> Change:
    """Return the change that the cleaned values of a kind's form ask for. Raises NotFound for a type that is none."""
    return _MAKERS[kind](farm, problem, given)


def joining(farm: Farm, problem: Problem, choice: str, day: date, age_days: int = 1) -> Batch:
    """Return a type as a batch of any size that arrives on a day, with a key and a name that are free."""
    key = _free_key(problem, lambda number: trial_rows.batch_key(choice, number))
    batch = kinds.of(farm, choice, day, age_days=age_days, key=key)
    return replace(batch, name=_free_name(problem, batch.name))


def _add_batch(farm: Farm, problem: Problem, given: Given) -> Change:
    age = 1 if given["age_days"] is None else given["age_days"]
    batch = changes.with_birds(joining(farm, problem, given["type"], given["day"], age), given["birds"])
    if given["leaves"] is not None:
        batch = replace(batch, leaves=given["leaves"], leave_age_days=None)
    return changes.AddBatch(batch)


def _add_housing(farm: Farm, problem: Problem, given: Given) -> Change:
    return changes.AddHousing(
        Housing(
            key=_free_key(problem, trial_rows.housing_key),
            name=given["name"].strip(),
            kind=given["what"],
            area_dm2=int(given["area_m2"] * 100),
            heated=given["heated"],
            indoor=given["what"] not in _OUTSIDE,
            rest_days=0,
            in_service_from=given["start"],
            in_service_to=given["end"],
        )
    )


_MAKERS: Mapping[str, Callable[[Farm, Problem, Given], Change]] = {
    "add_batch": _add_batch,
    "add_housing": _add_housing,
    "move_arrival": lambda _farm, _problem, given: changes.MoveArrival(given["batch"], given["day"]),
    "change_birds": lambda _farm, _problem, given: changes.ChangeBirds(given["batch"], given["birds"]),
    "lose_housing": lambda _farm, _problem, given: changes.LoseHousing(
        given["housing"], given["start"], given["end"]
    ),
    "pin_stay": lambda _farm, _problem, given: changes.PinStay(
        given["batch"], given["housing"], given["start"], given["end"]
    ),
    "forbid_housing": lambda _farm, _problem, given: changes.ForbidHousing(given["batch"], given["housing"]),
}


def kept(problem: Problem, wanted: Iterable[Change]) -> tuple[Change, ...]:
    """Return changes with keys that adopting them can record: a housing borrowed for a way out is a new one here."""
    found = []
    for each in wanted:
        if isinstance(each, changes.AddHousing) and not trial_rows.is_new(each.housing.key):
            key = _free_key(problem, trial_rows.housing_key)
            name = _free_name(problem, gettext(_BORROWED) % {"kind": HousingKind(each.housing.kind).label})
            each = changes.AddHousing(replace(each.housing, key=key, name=name))
        found.append(each)
    return tuple(found)


def _free_key(problem: Problem, key: Callable[[int], str]) -> str:
    taken = {row.key for row in (*problem.batches, *problem.housings)}
    return next(found for number in range(1, len(taken) + 2) if (found := key(number)) not in taken)


def _free_name(problem: Problem, name: str) -> str:
    taken = {row.name.casefold() for row in (*problem.batches, *problem.housings)}
    if name.casefold() not in taken:
        return name
    numbered = (f"{name} {number}" for number in range(2, len(taken) + 3))
    return next(each for each in numbered if each.casefold() not in taken)


def of_plan(plan: Plan) -> tuple[Change, ...]:
    """Return the changes a plan tries. Raises codec.ReadingError for rows an older program wrote."""
    return tuple(changes.from_json(each) for each in plan.changes)


def sealed(farm_id: int, wanted: Iterable[Change]) -> str:
    """Return changes as text for a form's hidden field that only this site can have written, for one farm."""
    return signing.dumps([changes.to_json(each) for each in wanted], salt=f"{_SALT}.{farm_id}", compress=True)


def unsealed(farm_id: int, text: str) -> tuple[Change, ...]:
    """Return the changes of a `sealed` text. Raises signing.BadSignature for any other."""
    return tuple(changes.from_json(each) for each in signing.loads(text, salt=f"{_SALT}.{farm_id}"))


def said(wanted: Sequence[Change], problem: Problem) -> list[Phrase]:
    """Return each change in a sentence. problem: with the changes made, for the names."""
    names = {row.key: row.name for row in (*problem.housings, *problem.batches)}
    return [_SENTENCES[type(each)](each, names) for each in wanted]


def _bounded(text: str, ended: str, values: dict[str, Value], end: date | None) -> Phrase:
    if end is None:
        return Phrase(text, values)
    return Phrase(ended, values | {"last": end - timedelta(days=1)})


def _batch_said(each: Any, _names: Mapping[str, str]) -> Phrase:
    batch = each.batch
    values = {"birds": batch.birds, "name": batch.name, "day": batch.arrival.day}
    return Phrase(N_("Add %(birds)d birds (%(name)s), arriving on %(day)s"), values)


def _housing_said(each: Any, _names: Mapping[str, str]) -> Phrase:
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


def _lost_said(each: Any, names: Mapping[str, str]) -> Phrase:
    return _bounded(
        N_("%(name)s is out of use from %(day)s on"),
        N_("%(name)s is out of use from %(day)s to %(last)s"),
        {"name": names.get(each.housing, each.housing), "day": each.start},
        each.end,
    )


def _area_said(each: Any, names: Mapping[str, str]) -> Phrase:
    values: dict[str, Value] = {
        "name": names.get(each.housing, each.housing),
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


def _pin_said(each: Any, names: Mapping[str, str]) -> Phrase:
    values: dict[str, Value] = {
        "name": names.get(each.batch, each.batch),
        "room": names.get(each.housing, each.housing),
        "day": each.start,
        "last": each.end - timedelta(days=1),
    }
    return Phrase(N_("%(name)s stay in %(room)s from %(day)s to %(last)s"), values)


def _plainly(text: str, *fields: str) -> Callable[[Any, Mapping[str, str]], Phrase]:
    """Return a sentence maker that names the batch or housing and says the other fields as they are."""

    def make(each: Any, names: Mapping[str, str]) -> Phrase:
        values = {field: getattr(each, field) for field in fields}
        for field in ("batch", "housing"):
            if hasattr(each, field):
                key = getattr(each, field)
                values[field] = names.get(key, key)
        return Phrase(text, values)

    return make


_SENTENCES: Mapping[type[Any], Callable[[Any, Mapping[str, str]], Phrase]] = {
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
