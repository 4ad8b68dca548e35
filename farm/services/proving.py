"""Proving on request that nothing is better than a ready plan, for farms small enough.

The proof is made outside any transaction and written in one short update, on condition that the plan is still the one
it was made for. Asked twice or run twice, it does no harm.
"""

from __future__ import annotations

import logging
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from django.db import DatabaseError, transaction
from django.utils.translation import gettext as _

from farm import dispatch
from farm.errors import BadInput
from farm.models import Plan
from farm.models.member import Role
from farm.models.plan import PlanState, ProofState
from farm.planning import exact, plan_check, score
from farm.planning import problem as planning
from farm.planning import solution as solutions
from farm.planning.problem import Problem
from farm.planning.solution import Solution
from farm.queries import lookup
from farm.services import locks, solving
from farm.services.actor import Actor

log = logging.getLogger(__name__)

#: Farms with more batches are rarely proved in the time there is. Project default (judgement).
MOST_BATCHES = 20
#: How long a proof may take. Project default (judgement).
SECONDS = 60.0
#: An unanswered proof can be asked for again after so long: whoever worked on it is gone. Project default (judgement).
PATIENCE = timedelta(minutes=5)


def ask(by: Actor, *, plan_id: int) -> Plan:
    """Send a ready plan to be proved and return it; one that is being proved or is proved already is left alone.

    Raises BadInput for a plan that is not ready or has more than MOST_BATCHES batches, NotFound, NotAllowed.
    """
    by.require(Role.KEEPER)
    with transaction.atomic():
        locks.farm(by.farm_id)
        plan = lookup.get(Plan, farm_id=by.farm_id, pk=plan_id)
        if plan.state != PlanState.READY:
            raise BadInput.at("", _("Only a plan that is ready can be proved."))
        if len(plan.problem["batches"]) > MOST_BATCHES:
            text = _("Only plans of at most %(n)d batches can be proved.") % {"n": MOST_BATCHES}
            raise BadInput.at("", text)
        if plan.proof not in (ProofState.PROVED, ProofState.PARTS) and not is_under_way(plan, by.now):
            plan.proof, plan.proof_asked_at = ProofState.ASKED, by.now
            plan.save(update_fields=["proof", "proof_asked_at"])
            dispatch.after_commit("prove_plan", plan_id=plan.pk)
    return plan


def is_under_way(plan: Plan, now: datetime) -> bool:
    """Say whether a proof was asked for and may still come."""
    asked = plan.proof_asked_at
    return plan.proof == ProofState.ASKED and asked is not None and now < asked + PATIENCE


def can_be_asked(plan: Plan, problem: Problem) -> bool:
    """Say whether a proof is worth offering: the plan is ready, small enough, and nothing better is not ruled out."""
    if plan.state != PlanState.READY or plan.bill is None or plan.bound is None:
        return False
    known = plan.proof in (ProofState.PROVED, ProofState.PARTS)
    return not known and len(problem.batches) <= MOST_BATCHES and plan.bound < plan.bill["total"]


def run(*, plan_id: int) -> str:
    """Prove a plan that was asked about and return how its proof stands; "" where there is nothing to do.

    A better plan found on the way replaces it, if the judge of plans finds no fault in it. Raises DatabaseError, so
    that the job is tried again; all else leaves the plan as it is, not proved.
    """
    plan = Plan.objects.filter(pk=plan_id, proof=ProofState.ASKED, state=PlanState.READY).first()
    if plan is None:
        return ""
    try:
        fields = _proved(plan)
    except DatabaseError:
        raise
    except Exception:
        log.exception("plan %s could not be proved", plan_id)
        fields = {"proof": ProofState.OPEN}
    # The version changes when the plan is put anew, put aside or adopted: then the proof is of another plan.
    mine = Plan.objects.filter(
        pk=plan_id, proof=ProofState.ASKED, state=PlanState.READY, version=plan.version
    )
    return str(fields["proof"]) if mine.update(**fields) else ""


def _proved(plan: Plan) -> dict[str, Any]:
    """Return what to write of a plan after the proof."""
    problem = planning.from_json(plan.problem)
    old = solutions.from_json(plan.solution or {})  # the database keeps no ready plan without one
    proof = exact.prove(problem, warm=old, seconds=SECONDS)
    found = proof.solution
    if found is None or not _sound(problem, found):
        return {"proof": ProofState.OPEN}
    best = found if found.cost < old.cost else old
    # Where a batch could be split otherwise, the proof says nothing of those plans, so its bound is not everybody's.
    bound = max(old.bound, proof.bound) if proof.whole else old.bound
    best = replace(old, plans=best.plans, cost=best.cost, bound=min(bound, best.cost))
    fields: dict[str, Any] = {"proof": _verdict(best, proof), **solving.whole(problem, best)}
    if best.cost < old.cost:
        fields["version"] = plan.version + 1  # whoever looks at the old one must not adopt this one unseen
    return fields


def _verdict(best: Solution, proof: exact.Proof) -> ProofState:
    if best.bound == best.cost:
        return ProofState.PROVED
    return ProofState.PARTS if proof.status == "proved" else ProofState.OPEN


def _sound(problem: Problem, found: Solution) -> bool:
    """Say whether a plan keeps every rule it could keep, and costs what it says."""
    faults = [fault for fault in plan_check.faults(problem, found) if not fault.forced]
    return not faults and score.bill(problem, found.plans).total == found.cost
