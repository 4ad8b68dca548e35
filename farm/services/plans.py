"""Plans are proposed, worked out, adopted or dropped. Working out is `solving`; writing the stays is `adoption`."""

from __future__ import annotations

import secrets
from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any

from django.db import transaction
from django.utils.translation import gettext as _

from farm import dispatch
from farm.errors import BadInput, NotFound, Stale
from farm.models import Farm, HistoryEntry, Plan
from farm.models.history import Face
from farm.models.member import Role
from farm.models.plan import OPEN, PlanKind, PlanState, ProofState
from farm.phrase import N_
from farm.planning import problem as planning
from farm.planning import score, validate
from farm.planning import solution as solutions
from farm.planning.changes import Change, to_json
from farm.planning.codec import ReadingError
from farm.planning.problem import Problem
from farm.planning.solution import Solution
from farm.queries import lookup, plan_ways, stamps
from farm.queries import planning as rows
from farm.services import adoption, locks, plan_changes, solving
from farm.services.actor import Actor, system
from farm.services.writing import write
from farm.wording import say

#: Repairs tried for one plan: seconds on a household's farm. Project default (judgement).
ITERATIONS = 600
#: Repairs tried while a page waits. Project default (judgement).
AT_ONCE = 60
#: Why a plan is proposed without being asked for.
WHY: Mapping[str, str] = {
    "losses": N_("Birds were lost: the others may need fewer moves"),
    "arrival": N_("A batch hatches or arrives on another day"),
    "housing": N_("Housing was changed"),
    "climate": N_("The farm's climate was changed: birds may go out on other days"),
}
# Typed from one screen into another: no letters or digits that look alike.
_CODE_ALPHABET, _CODE_LENGTH = "23456789abcdefghjkmnpqrstuvwxyz", 8


def propose(
    by: Actor,
    *,
    changes: Sequence[Change] = (),
    reason: str = "",
    iterations: int = ITERATIONS,
    known: Solution | None = None,
) -> Plan:
    """Put the farm's planning problem, with `changes` tried on it, and send it to be solved.

    Nothing of the farm is changed. known: a checked solution; when it is one of this very problem, the plan is ready at
    once with it. Raises BadInput when the changed farm cannot be planned at all.
    """
    by.require(Role.KEEPER)
    with transaction.atomic():
        farm = locks.farm(by.farm_id)
        read = rows.rows(farm)
        plan = Plan(
            farm=farm,
            code=_code(),
            kind=PlanKind.TRIAL if changes else PlanKind.PROPOSAL,
            reason=reason.strip()[:300],
            made_by=by.member,
            login=by.login,
        )
        put(
            plan,
            by,
            read,
            plan_changes.tried(by, read, changes),
            [to_json(change) for change in changes],
            iterations,
        )
        if known is not None and known.problem == plan.problem_digest:
            plan.state, plan.finished_at = PlanState.READY, by.now
            for name, value in solving.whole(planning.from_json(plan.problem), known).items():
                setattr(plan, name, value)
        plan.save(force_insert=True)
        if plan.state == PlanState.WAITING:
            dispatch.after_commit("solve_plan", plan_id=plan.pk)
    return plan


def try_way(by: Actor, *, digest: str, shortfall: int, way: int) -> Plan:
    """Put a way out of a shortfall on trial, ready at once with the plan that shows it works.

    shortfall, way: places in `queries.plan_ways`' lists; digest: of the problem they were listed for. Raises Stale when
    the farm has changed since, NotFound for a place that is not there.
    """
    by.require(Role.KEEPER)
    farm = Farm.objects.get(pk=by.farm_id)
    standing = plan_ways.standing(farm, by.today)
    if standing.problem.digest != digest:
        raise Stale(_("The farm was changed since these ways out were found. Look again."))
    if not 0 <= shortfall < len(standing.shortfalls):
        raise NotFound(_("There is no such shortfall any more."))
    found = standing.ways(shortfall).ways
    if not 0 <= way < len(found):
        raise NotFound(_("There is no such way out any more."))
    chosen = found[way]
    reason = say(chosen.sentence, farm.units)
    return propose(by, changes=chosen.changes, reason=reason, known=chosen.solution)


def put(
    plan: Plan,
    by: Actor,
    read: rows.Rows,
    problem: Problem,
    changes: Sequence[Any] = (),
    iterations: int = ITERATIONS,
) -> None:
    """Fill a plan with a problem that nobody has worked on yet; not saved. Raises BadInput."""
    _refuse(problem)
    plan.problem, plan.problem_digest = problem.to_json(), problem.digest
    base = problem if not changes else rows.problem(read.farm, by.today, read=read)
    plan.changes, plan.before = list(changes), solving.said(score.bill(base, base.adopted))
    plan.stamps, plan.farm_version = stamps.of(read, by.today), read.farm.version
    plan.state, plan.claim, plan.cancel_asked, plan.error = PlanState.WAITING, "", False, ""
    plan.solution = plan.bill = plan.bound = plan.beat_at = plan.finished_at = None
    plan.iteration, plan.attempts, plan.iterations = 0, 0, iterations
    plan.proof, plan.proof_asked_at = ProofState.NONE, None
    plan.made_at = by.now


def solve_now(by: Actor, *, plan_id: int, now: solving.Clock, iterations: int = AT_ONCE) -> Plan:
    """Work a plan out on the spot with a small budget, when no worker has begun on it; return it as it is then."""
    by.require(Role.KEEPER)
    plan = lookup.get(Plan, farm_id=by.farm_id, pk=plan_id)
    solving.run(plan_id=plan.pk, now=now, iterations=iterations)
    plan.refresh_from_db()
    return plan


def propose_after(*, farm_id: int, why: str, now: datetime) -> Plan | None:
    """Propose a plan by itself after something that may have made the present one wrong: `why` is a key of WHY.

    A farm has one such proposal at a time: while it is open, a further reason puts it anew. It is dropped by itself
    when it turns out no better than what is planned. Returns None for a farm without birds to plan, or that cannot be
    planned: nobody asked, so nobody is told. Raises NotFound.
    """
    with transaction.atomic():
        farm = locks.farm(farm_id)
        by, read = system(farm, face=Face.JOB, now=now), rows.rows(farm)
        plan = Plan.objects.filter(farm=farm, automatic=True, state__in=OPEN).first()
        problem = rows.problem(farm, by.today, read=read)
        if not problem.batches or validate.problems(problem):
            return None
        if plan is not None and plan.problem_digest == problem.digest:
            return plan
        plan = plan or Plan(farm=farm, code=_code(), kind=PlanKind.PROPOSAL, automatic=True, version=0)
        plan.reason, plan.version = _(WHY[why]), plan.version + 1
        put(plan, by, read, problem)
        plan.save()
        dispatch.after_commit("solve_plan", plan_id=plan.pk)
    return plan


def cancel(by: Actor, *, plan_id: int) -> Plan:
    """Stop working a plan out and keep the best one found; one nobody has begun on is dropped."""
    by.require(Role.KEEPER)
    with transaction.atomic():
        locks.farm(by.farm_id)
        plan = lookup.get(Plan, farm_id=by.farm_id, pk=plan_id)
        if plan.state == PlanState.WAITING:
            _close(plan, by, PlanState.DROPPED)
        elif plan.state == PlanState.SOLVING:
            Plan.objects.filter(pk=plan.pk).update(cancel_asked=True)
            plan.cancel_asked = True
    return plan


def drop(by: Actor, *, plan_id: int) -> Plan:
    """Put a plan aside. Whoever works on it stops at its next step. Raises BadInput for one already adopted."""
    by.require(Role.KEEPER)
    with transaction.atomic():
        locks.farm(by.farm_id)
        plan = lookup.get(Plan, farm_id=by.farm_id, pk=plan_id)
        if plan.state == PlanState.ADOPTED:
            raise BadInput.at("", _("This plan was adopted. Undo it in the history instead."))
        if plan.state != PlanState.DROPPED:
            _close(plan, by, PlanState.DROPPED)
    return plan


def adopt(by: Actor, *, plan_id: int, seen_version: int | None) -> HistoryEntry | None:
    """Make a ready plan the farm's: its changes and its stays are written in one history entry, which undo takes back.

    Planned stays that are not pinned give way, stays birds are in end on the plan's day; what has happened and what
    is pinned stays. Returns the entry, None where the plan is what the stays say already. Raises Stale with what
    changed when anything the plan read, or the plan itself, was changed since; BadInput for a plan that is not ready or
    breaks a rule of stays; NotAllowed. Then nothing is saved.
    """
    with transaction.atomic():
        with write(by, "adopt plan", role=Role.KEEPER) as log:
            plan = lookup.get(Plan, farm_id=by.farm_id, pk=plan_id)
            _refuse_adoption(plan, seen_version)
            problem = planning.from_json(plan.problem)
            solution = solutions.from_json(
                plan.solution or {}
            )  # the database keeps no ready plan without one
            changes = plan_changes.read_back(plan.changes)
            log.says(None, _said(plan, adoption.write(log, problem, solution, changes)))
        plan.adoption, plan.adopted_at = log.entry, by.now
        _close(plan, by, PlanState.ADOPTED)
    return log.entry


def _refuse_adoption(plan: Plan, seen_version: int | None) -> None:
    if plan.state != PlanState.READY:
        text = {
            PlanState.ADOPTED: _("This plan was adopted already."),
            PlanState.DROPPED: _("This plan was put aside. Ask for a new one."),
            PlanState.FAILED: _("This plan could not be worked out. Ask for a new one."),
        }.get(
            PlanState(plan.state),
            _("This plan is still being worked out. Wait until it is ready, or stop it."),
        )
        raise BadInput.at("", text)
    if seen_version is not None and plan.version != seen_version:
        raise Stale(
            _("This plan was worked out anew while you looked at it. Look again."), version=plan.version
        )
    changed = stamps.changed_since(plan)
    if changed:
        raise Stale(
            _("The farm was changed since this plan was made. Nothing was written; work the plan out again."),
            changes=changed,
            version=plan.version,
        )


def _said(plan: Plan, names: list[str]) -> str:
    if not names:
        return _("Plan adopted: %(plan)s") % {"plan": plan}
    return _("Plan adopted: %(plan)s. Stays changed of: %(batches)s") % {
        "plan": plan,
        "batches": ", ".join(names),
    }


def _code() -> str:
    return "".join(secrets.choice(_CODE_ALPHABET) for _place in range(_CODE_LENGTH))


def _close(plan: Plan, by: Actor, state: str) -> None:
    plan.state, plan.claim, plan.version = state, "", plan.version + 1
    plan.finished_at = plan.finished_at or by.now
    # No more than this: whoever works on the plan may be writing the rest at this moment.
    plan.save(update_fields=["state", "claim", "version", "finished_at", "adopted_at", "adoption"])


def _refuse(problem: Problem) -> None:
    """Raise BadInput for a problem that cannot be planned, naming the thing and the fix."""
    try:
        validate.refuse(problem)
    except ReadingError as error:
        raise BadInput({"": [_whose(problem, path) + say(text) for path, text in error.problems]}) from error


def _whose(problem: Problem, path: str) -> str:
    """Return the name of the housing or batch that a path like `batches[2].birds` is in, with a colon."""
    for kind in ("housings", "batches"):
        if path.startswith(f"{kind}["):
            place = int(path[len(kind) + 1 :].split("]")[0])
            return f"{getattr(problem, kind)[place].name}: "
    return ""
