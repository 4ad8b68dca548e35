"""Changes to try on the farm's plan, as programs send them, into the planner's own."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Annotated

from django.utils.translation import gettext as _
from ninja import Field
from pydantic import AfterValidator, ValidationInfo, model_validator

from api.core.shapes import Day, In, Text
from farm.errors import BadInput
from farm.models import Farm
from farm.models.housing import HousingKind
from farm.planning.changes import Change
from farm.planning.codec import ReadingError
from farm.planning.problem import Problem
from farm.queries import asking
from farm.services.counts import MOST_BIRDS
from farm.web.plan import trying
from farm.wording import say

Key = Annotated[
    Text,
    Field(
        min_length=1,
        max_length=60,
        description="The number of one of the farm's, as text; or the key that a plan gives to one only thought of.",
    ),
]
Birds = Annotated[int, Field(ge=1, le=MOST_BIRDS)]


def _later(end: date | None, info: ValidationInfo) -> date | None:
    """Refuse days in the wrong order: each pair begins before it ends."""
    start = info.data.get("start") or info.data.get("day")
    if end is not None and start is not None and end <= start:
        raise ValueError("This day must come after the first.")
    return end


End = Annotated[Day | None, AfterValidator(_later)]
SureEnd = Annotated[Day, AfterValidator(_later)]


class AddBatchTry(In):
    """A batch that does not exist yet."""

    programme: Text = Field(
        max_length=40, description="Key of a built-in programme, or the number of one of the farm's."
    )
    birds: Birds
    day: Day = Field(description="They arrive on; within a year from today.")
    age_days: int = Field(0, ge=0, le=400, description="Of the birds on that day.")
    leaves: End = Field(None, description="The day they leave, when they do not stay.")


class MoveArrivalTry(In):
    """Another arrival day for a batch that is yet to come."""

    batch: Key
    day: Day


class ChangeBirdsTry(In):
    """Another number of birds."""

    batch: Key
    birds: Birds


class AddHousingTry(In):
    """A housing that does not exist yet."""

    name: Text = Field(min_length=1, max_length=60)
    kind: HousingKind
    area_m2: float = Field(ge=0.01, le=5000, allow_inf_nan=False)
    heated: bool = False
    start: Day | None = Field(None, description="In use from; from now on, when left out.")
    end: End = Field(None, description="The first day it is not in use any more.")


class LoseHousingTry(In):
    """A housing that can't be used."""

    housing: Key
    start: Day
    end: End = Field(None, description="The first day it can be used again; gone for good, when left out.")


class PinStayTry(In):
    """A batch held in one housing."""

    batch: Key
    housing: Key
    start: Day
    end: SureEnd = Field(description="The first day it is not held any more.")


class ForbidHousingTry(In):
    """A batch kept out of one housing."""

    batch: Key
    housing: Key


class Try(In):
    """One change to try: name exactly one."""

    add_batch: AddBatchTry | None = None
    move_arrival: MoveArrivalTry | None = None
    change_birds: ChangeBirdsTry | None = None
    add_housing: AddHousingTry | None = None
    lose_housing: LoseHousingTry | None = None
    pin_stay: PinStayTry | None = None
    forbid_housing: ForbidHousingTry | None = None

    @model_validator(mode="after")
    def _one(self) -> Try:
        if len(self.given()) != 1 or None in self.given().values():
            raise ValueError("Name exactly one change.")
        return self


def read(
    farm: Farm, problem: Problem, wanted: Sequence[Try], today: date
) -> tuple[tuple[Change, ...], Problem]:
    """Return the planner's changes, and the problem with them made. Raises BadInput at the field of a change."""
    found: list[Change] = []
    for place, one in enumerate(wanted):
        ((kind, asked),) = one.given().items()
        at = f"changes/{place}/{kind}"
        _in_time(at, asked, today)
        try:
            change = _change(farm, problem, kind, asked)
            problem = change.apply(problem)
        except ReadingError as error:
            raise BadInput({f"{at}/{path}": [say(text)] for path, text in error.problems}) from error
        found.append(change)
    return tuple(found), problem


def _in_time(at: str, asked: In, today: date) -> None:
    day = getattr(asked, "day", None)
    if day is not None and not today <= day <= asking.last_day(today):
        raise BadInput.at(f"{at}/day", _("Choose a day from today to a year ahead."))


def _change(farm: Farm, problem: Problem, kind: str, asked: In) -> Change:
    """Return the change, made of the values as the page's form of the same kind has them."""
    given = asked.dict()
    if kind == "add_batch":
        given["type"] = given.pop("programme")
    if kind == "add_housing":
        given["what"] = str(given.pop("kind"))
    return trying.change(farm, problem, kind, given)
