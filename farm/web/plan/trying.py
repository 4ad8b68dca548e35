"""Forms of changes into the planner's typed changes, and those changes in a keeper's words."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace
from datetime import date
from typing import Any

from django.core import signing
from django.utils.translation import gettext

from farm.errors import BadInput
from farm.models import Farm, Plan
from farm.models.housing import HousingKind
from farm.phrase import N_
from farm.planning import changes
from farm.planning import solution as solutions
from farm.planning.changes import Change
from farm.planning.codec import ReadingError
from farm.planning.problem import Batch, Housing, Problem
from farm.planning.solution import PlanPart, Solution
from farm.planning.ways import Way
from farm.planning.ways_of_farm import BORROWED
from farm.queries import kinds, plans, trial_rows
from farm.queries.plans import Shown

_SALT = "plan-changes"
_BORROWED = N_("Borrowed %(kind)s")
_OUTSIDE = frozenset({"run", "paddock"})
Given = Mapping[str, Any]


def change(farm: Farm, problem: Problem, kind: str, given: Given) -> Change:
    """Return the change that the cleaned values of a kind's form ask for. Raises NotFound for a type that is none."""
    return _MAKERS[kind](farm, problem, given)


def joining(farm: Farm, problem: Problem, choice: str, day: date, age_days: int = 0) -> Batch:
    """Return a type as a batch of any size that arrives on a day, with a key and a name that are free."""
    key = _free_key(problem, lambda number: trial_rows.batch_key(choice, number))
    batch = kinds.of(farm, choice, day, age_days=age_days, key=key)
    return replace(batch, name=_free_name(problem, batch.name))


def _add_batch(farm: Farm, problem: Problem, given: Given) -> Change:
    kind = joining(farm, problem, given["type"], given["day"], given["age_days"] or 0)
    batch = changes.with_birds(kind, given["birds"])
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


def read(plan: Plan) -> tuple[Shown, tuple[Change, ...]]:
    """Return a plan as its page shows it, and the changes it tries. Raises BadInput for one an older program wrote."""
    try:
        return plans.shown(plan), tuple(changes.from_json(each) for each in plan.changes)
    except ReadingError as error:
        text = gettext("This plan was made by an older Featherdays. Ask for a new one.")
        raise BadInput.at("", text) from error


def sealed(farm_id: int, wanted: Iterable[Change], known: Solution | None = None) -> str:
    """Return changes as text for a form's hidden field that only this site can have written, for one farm.

    known: a checked plan of the farm with these changes made.
    """
    said = [changes.to_json(each) for each in wanted]
    content = {"changes": said, "known": None if known is None else known.to_json()}
    return signing.dumps(content, salt=f"{_SALT}.{farm_id}", compress=True)


def unsealed(farm_id: int, text: str) -> tuple[tuple[Change, ...], Solution | None]:
    """Return what a `sealed` text holds. Raises signing.BadSignature for any other."""
    content = signing.loads(text, salt=f"{_SALT}.{farm_id}")
    known = content["known"]
    return (
        tuple(changes.from_json(each) for each in content["changes"]),
        None if known is None else solutions.from_json(known),
    )


def kept(problem: Problem, way: Way) -> tuple[tuple[Change, ...], Solution]:
    """Return a way's changes and plan with keys and names that adopting them can record.

    A housing borrowed for a way out is a new one here.
    """
    key = _free_key(problem, trial_rows.housing_key)
    wanted = tuple(_named(problem, each, key) for each in way.changes)
    if wanted == way.changes:
        return way.changes, way.solution
    plans = [
        replace(plan, parts=tuple(_lodged(part, key) for part in plan.parts)) for plan in way.solution.plans
    ]
    made = changes.apply_all(problem, wanted)
    return wanted, replace(way.solution, problem=made.digest, plans=tuple(plans))


def _named(problem: Problem, each: Change, key: str) -> Change:
    if not isinstance(each, changes.AddHousing) or each.housing.key != BORROWED:
        return each
    name = _free_name(problem, gettext(_BORROWED) % {"kind": HousingKind(each.housing.kind).label})
    return changes.AddHousing(replace(each.housing, key=key, name=name))


def _lodged(part: PlanPart, key: str) -> PlanPart:
    stays = [replace(stay, housing=key) if stay.housing == BORROWED else stay for stay in part.stays]
    return replace(part, stays=tuple(stays))


def _free_key(problem: Problem, key: Callable[[int], str]) -> str:
    taken = {each.key for each in problem.batches} | {each.key for each in problem.housings}
    return next(found for number in range(1, len(taken) + 2) if (found := key(number)) not in taken)


def _free_name(problem: Problem, name: str) -> str:
    taken = {each.name.casefold() for each in problem.batches}
    taken |= {each.name.casefold() for each in problem.housings}
    if name.casefold() not in taken:
        return name
    numbered = (f"{name} {number}" for number in range(2, len(taken) + 3))
    return next(each for each in numbered if each.casefold() not in taken)
