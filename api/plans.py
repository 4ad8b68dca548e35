"""Plans: proposed, worked out, compared with what is planned now, adopted or put aside."""

from __future__ import annotations

from typing import Any, Literal

from django.core.signing import BadSignature
from django.utils.translation import gettext as _
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api import plan_shapes as shapes
from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import In, Text
from api.models import Scope
from api.plan_shapes import Compared, PlanLine, PlanOut, WaysOut
from api.plan_tries import Try, read
from api.shortfalls import WhichShortfall, as_planned, ways_out
from farm.errors import BadInput, NotFound
from farm.models.member import Role
from farm.models.plan import PlanKind, PlanState
from farm.planning.changes import Change, apply_all
from farm.planning.codec import ReadingError
from farm.planning.problem import Problem
from farm.planning.solution import Solution
from farm.queries import asking
from farm.queries import plans as queries
from farm.services import plans, proving
from farm.web import clock
from farm.web.plan import sentences, trying
from farm.wording import say

router = Router(tags=["Plans"])

MOST_CHANGES = 12  # in one trial, as on the page


class NewPlan(In):
    """A plan to work out: the farm planned anew, or with changes tried on it."""

    changes: list[Try] = Field(default_factory=list, max_length=MOST_CHANGES)
    on: Text = Field("", max_length=12, description="Code of a plan whose changes are tried first.")
    offer: Text = Field("", max_length=400_000, description="The `offer` of a way out, instead of changes.")


class Seen(In):
    """Which version of a plan the adopter has seen."""

    version: int = Field(ge=1, le=2**31)


class Adopted(Schema):
    """What adopting did. history_id: the line of history to undo; null where the stays say it already."""

    history_id: int | None
    plan: PlanOut


class Wanted(pages.Paging):
    """Which plans."""

    state: PlanState | None = None
    kind: PlanKind | None = None
    automatic: bool | None = Field(None, description="Proposed by itself, or asked for.")
    order: Literal["id", "-id"] = "-id"


class WhichBatches(pages.Paging):
    """Which batches to compare."""

    all: bool = Field(False, description="Those too that live as planned now.")


@router.get("/", response=Page[PlanLine])
@needs(Role.KEEPER, Scope.READ)
def list_plans(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the farm's plans, newest first."""
    asked = {"state": query.state, "kind": query.kind, "automatic": query.automatic}
    rows = queries.recent(request.caller.farm).filter(
        **{name: value for name, value in asked.items() if value is not None}
    )
    return pages.of(rows, query, shapes.line, order=query.order)


@router.post("/", response={202: PlanOut})
@needs(Role.KEEPER, Scope.WRITE)
def propose_plan(request: ApiRequest, new: NewPlan) -> Status:
    """Have a plan worked out. The answer's Location tells how far it is, and in the end what it says."""
    caller = request.caller
    if new.offer and (new.changes or new.on):
        raise BadInput.at("offer", _("Send an offer, or changes, not both."))
    wanted, known = _offered(request, new.offer) if new.offer else (_wanted(request, new), None)
    made = plans.propose(caller.by, changes=wanted, reason=_reason(request, wanted), known=known)
    base = queries.by_code(caller.farm.pk, new.on) if new.on else None
    if base is not None and base.state in (PlanState.WAITING, PlanState.SOLVING):
        plans.drop(caller.by, plan_id=base.pk)  # nobody waits for it any more
    request.location = f"{request.path}{made.code}/"
    return Status(202, _whole(request, made.code))


@router.get("/{code}/", response=PlanOut)
@needs(Role.KEEPER, Scope.READ)
def get_plan(request: ApiRequest, code: Text) -> dict[str, Any]:
    """Return one plan: how far it is, what it moves and what it lacks. Ask again while it is waiting or solving."""
    return _whole(request, code)


@router.get("/{code}/comparison/", response=Page[Compared])
@needs(Role.KEEPER, Scope.READ)
def compare_plan(request: ApiRequest, code: Text, query: Query[WhichBatches]) -> dict[str, Any]:
    """Show each batch as planned now and as in the plan."""
    found, _tried = trying.read(queries.by_code(request.caller.farm.pk, code))
    if found.solution is None:
        return pages.of_list([], query)
    rows = shapes.compared(found.problem, found.solution, found.changed_batches)
    return pages.of_list([row for row in rows if query.all or row["differs"]], query)


@router.get("/{code}/ways-out/", response=WaysOut)
@needs(Role.KEEPER, Scope.READ)
def list_ways_out_of_plan(request: ApiRequest, code: Text, query: Query[WhichShortfall]) -> dict[str, Any]:
    """Find ways out of a shortfall of a plan, tried on top of its own changes. Takes up to some seconds."""
    found, tried = trying.read(queries.by_code(request.caller.farm.pk, code))
    if found.solution is None:
        raise NotFound(_("This plan is not worked out yet."))
    return ways_out(request, asking.standing(found.problem, found.solution), query, tried)


@router.post("/{code}/now/", response=PlanOut)
@needs(Role.KEEPER, Scope.WRITE)
def work_plan_out_now(request: ApiRequest, code: Text) -> dict[str, Any]:
    """Work a waiting plan out on the spot, with a small budget; one somebody works on already is left alone."""
    caller = request.caller
    plans.solve_now(caller.by, plan_id=queries.by_code(caller.farm.pk, code).pk, now=clock.now)
    return _whole(request, code)


@router.post("/{code}/stop/", response=PlanOut)
@needs(Role.KEEPER, Scope.WRITE)
def stop_plan(request: ApiRequest, code: Text) -> dict[str, Any]:
    """Stop working a plan out and keep the best found; one nobody has begun on is put aside."""
    caller = request.caller
    plans.cancel(caller.by, plan_id=queries.by_code(caller.farm.pk, code).pk)
    return _whole(request, code)


@router.post("/{code}/drop/", response=PlanOut)
@needs(Role.KEEPER, Scope.WRITE)
def drop_plan(request: ApiRequest, code: Text) -> dict[str, Any]:
    """Put a plan aside. Nothing on the farm changes."""
    caller = request.caller
    plans.drop(caller.by, plan_id=queries.by_code(caller.farm.pk, code).pk)
    return _whole(request, code)


@router.post("/{code}/prove/", response=PlanOut)
@needs(Role.KEEPER, Scope.WRITE)
def prove_plan(request: ApiRequest, code: Text) -> dict[str, Any]:
    """Ask for a proof that nothing is better than a ready plan; `proof` tells when it has come."""
    caller = request.caller
    proving.ask(caller.by, plan_id=queries.by_code(caller.farm.pk, code).pk)
    return _whole(request, code)


@router.post("/{code}/adopt/", response=Adopted)
@needs(Role.KEEPER, Scope.WRITE)
def adopt_plan(request: ApiRequest, code: Text, seen: Seen) -> dict[str, Any]:
    """Make a ready plan the farm's, in one write that can be undone.

    Where the farm was changed since the plan was made, nothing is written and `changes` says what.
    """
    caller = request.caller
    plan = queries.by_code(caller.farm.pk, code)
    entry = plans.adopt(caller.by, plan_id=plan.pk, seen_version=seen.version)
    return {"history_id": None if entry is None else entry.pk, "plan": _whole(request, code)}


def _offered(request: ApiRequest, offer: str) -> tuple[tuple[Change, ...], Solution | None]:
    try:
        return trying.unsealed(request.caller.farm.pk, offer)
    except (BadSignature, ReadingError) as error:
        raise BadInput.at("offer", _("That offer is no longer known. Ask again.")) from error


def _wanted(request: ApiRequest, new: NewPlan) -> tuple[Change, ...]:
    """Return the changes of the plan to build on, and the new ones. Raises BadInput at the field of a change."""
    farm, today = request.caller.farm, request.caller.by.today
    before = trying.read(queries.by_code(farm.pk, new.on))[1] if new.on else ()
    if len(before) + len(new.changes) > MOST_CHANGES:
        raise BadInput.at("changes", _("That is too much at once. Adopt part of it first."))
    after, _problem = read(farm, _applied(request, before), new.changes, today)
    return (*before, *after)


def _applied(request: ApiRequest, wanted: tuple[Change, ...]) -> Problem:
    try:
        return apply_all(as_planned(request).problem, wanted)
    except ReadingError as error:
        raise BadInput({"on": [say(text) for _path, text in error.problems]}) from error


def _reason(request: ApiRequest, wanted: tuple[Change, ...]) -> str:
    """Return what the plan is called in lists and in the history: its changes in words."""
    if not wanted:
        return _("Everything planned anew")
    units = request.caller.farm.units
    return "; ".join(say(each, units) for each in sentences.said(wanted, _applied(request, wanted)))


def _whole(request: ApiRequest, code: str) -> dict[str, Any]:
    farm = request.caller.farm
    plan = queries.by_code(farm.pk, code)
    found, tried = trying.read(plan)
    short = () if found.solution is None else asking.standing(found.problem, found.solution).shortfalls()
    return (
        shapes.line(plan)
        | shapes.tried(found, tried, farm.units)
        | shapes.words(found, short, farm.units)
        | {
            "proof": plan.proof,
            "bill": {} if plan.bill is None else plan.bill["terms"],
            "bill_now": plan.before["terms"],
            "changed_since": queries.changed_since(plan) if plan.state == PlanState.READY else [],
            "error": plan.error,
        }
    )
