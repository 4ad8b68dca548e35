"""The keeper's own chores: made up, once or by a rule that repeats; changed, ended, removed."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Annotated, Any, Literal

from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text, absent
from api.models import Scope
from farm.errors import BadInput
from farm.models import OwnChore
from farm.models.chore_mark import Round
from farm.models.member import Role
from farm.models.own_chore import Asks, Who
from farm.planning import repeats
from farm.queries import lookup
from farm.queries import own_chores as queries
from farm.services import own_chores
from farm.wording import say

router = Router(tags=["Own chores"])

Ability = Literal["heat", "lifting", "water", "dosing", "slaughter"]
Item = Annotated[Text, Field(min_length=1, max_length=120)]
_REPEAT = "Recurrence rule (RFC 5545, RRULE), for example FREQ=WEEKLY;BYDAY=MO,TH; empty for once."


class ChoreOut(Schema):
    """One chore of the keeper's own. Its occurrences are in the agenda, with the source `own:<id>/own_chore`."""

    id: int
    version: int
    title: str
    start: Day
    repeat: str = Field(description=_REPEAT)
    repeats: str = Field(description="The rule in words; empty for once.")
    exceptions: list[Day] = Field(description="Days it is left out on.")
    round: Round
    housing_id: int | None
    place: str
    minutes: int
    who: Who
    needs: list[str]
    two_people: bool
    care: bool
    asks: Asks
    checklist: list[str]
    begun_on: Day
    ended_on: Day | None
    next_on: Day | None = Field(description="When it is due next; null when it is over.")


class NewChore(In):
    """A chore to add."""

    title: Text = Field(max_length=100)
    start: Day
    repeat: Text = Field("", max_length=200, description=_REPEAT)
    exceptions: list[Day] = Field(default_factory=list, max_length=own_chores.MOST_EXCEPTIONS)
    round: Round = Round.MORNING
    housing_id: Id | None = None
    place: Text = Field("", max_length=60, description="Where, when it is no housing.")
    minutes: int = Field(10, ge=1, le=600)
    who: Who = Field(Who.HELPER, description="The least experienced who may do it.")
    needs: list[Ability] = Field(default_factory=list, max_length=5)
    two_people: bool = False
    care: bool = Field(False, description="Birds suffer when it is not done the same day.")
    asks: Asks = Field(Asks.NOTHING, description="What is wanted with the tick.")
    checklist: list[Item] = Field(default_factory=list, max_length=20)


class ChoreChange(In):
    """What is to be different; what is left out stays. Other days or another round end a chore that was ticked, and a
    new one begins: the answer's id and Location are the new one's."""

    title: Text = absent(max_length=100)
    start: Day = absent()
    repeat: Text = absent(max_length=200, description=_REPEAT)
    exceptions: list[Day] = absent(max_length=own_chores.MOST_EXCEPTIONS)
    round: Round = absent()
    housing_id: Id | None = None
    place: Text = absent(max_length=60)
    minutes: int = absent(ge=1, le=600)
    who: Who = absent()
    needs: list[Ability] = absent(max_length=5)
    two_people: bool = absent()
    care: bool = absent()
    asks: Asks = absent()
    checklist: list[Item] = absent(max_length=20)


class Wanted(pages.Paging):
    """Which chores."""

    over: bool | None = Field(None, description="Those that are due no more, or those that still are.")


@router.get("/", response=Page[ChoreOut])
@needs(Role.CHILD, Scope.READ)
def list_chores(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the farm's own chores, those still due first, by title."""
    rows = queries.listed(request.caller.farm, request.caller.by.today)
    found = [shape(request, one.chore) for one in rows if query.over in (None, one.next_on is None)]
    return pages.of_list(found, query)


@router.post("/", response={201: ChoreOut})
@needs(Role.KEEPER, Scope.WRITE)
def add_chore(request: ApiRequest, new: NewChore) -> Status:
    """Add a chore."""
    with _at_our_fields():
        chore = own_chores.add(request.caller.by, **new.dict())
    request.location = f"{request.path}{chore.pk}/"
    return Status(201, _whole(request, chore.pk))


@router.get("/{chore_id}/", response=ChoreOut)
@needs(Role.CHILD, Scope.READ)
def get_chore(request: ApiRequest, chore_id: Id) -> dict[str, Any]:
    """Return one chore."""
    return _whole(request, chore_id)


@router.patch("/{chore_id}/", response=ChoreOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_chore(request: ApiRequest, chore_id: Id, change: ChoreChange) -> dict[str, Any]:
    """Change a chore."""
    version = versions.expected(request)
    with _at_our_fields():
        chore = own_chores.change(
            request.caller.by, chore_id=chore_id, expected_version=version, **change.given()
        )
    if chore.pk != chore_id:
        request.location = request.path.removesuffix(f"{chore_id}/") + f"{chore.pk}/"
    return _whole(request, chore.pk)


@router.post("/{chore_id}/end/", response=ChoreOut)
@needs(Role.KEEPER, Scope.WRITE)
def end_chore(request: ApiRequest, chore_id: Id) -> dict[str, Any]:
    """End a chore from today on: it is due no more, and what was ticked stays."""
    own_chores.end(request.caller.by, chore_id=chore_id)
    return _whole(request, chore_id)


@router.delete("/{chore_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_chore(request: ApiRequest, chore_id: Id) -> Status:
    """Remove a chore of which nothing was ever ticked; end any other."""
    version = versions.expected(request)
    own_chores.remove(request.caller.by, chore_id=chore_id, expected_version=version)
    return Status(204, None)


def shape(request: ApiRequest, chore: OwnChore) -> dict[str, Any]:
    """Return a chore."""
    own = (
        *("id", "version", "title", "start", "repeat", "round", "housing_id", "place", "minutes", "who"),
        *("needs", "two_people", "care", "asks", "checklist", "begun_on", "ended_on"),
    )
    rule = queries.rule(chore)
    return {name: getattr(chore, name) for name in own} | {
        "repeats": "" if rule is None else say(repeats.in_words(rule), request.caller.farm.units),
        "exceptions": sorted(queries.exceptions(chore)),
        "next_on": queries.next_on(chore, request.caller.by.today),
    }


def _whole(request: ApiRequest, chore_id: int) -> dict[str, Any]:
    chore = lookup.get(OwnChore, farm_id=request.caller.farm.pk, pk=chore_id)
    return shape(request, versions.show(request, chore))


@contextmanager
def _at_our_fields() -> Iterator[None]:
    """Say what is wrong with a rule's last day at the rule, of which it is a part here."""
    try:
        yield
    except BadInput as refused:
        raise BadInput(
            {"repeat" if name == "until" else name: texts for name, texts in refused.fields.items()}
        ) from refused
