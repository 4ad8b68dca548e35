"""Working a plan out: claimed by one run at a time, with signs of life, never leaving half a plan.

A run writes the best plan so far, whole, in one short update now and then, each on condition that the plan is still its
own. Killed in the middle, its claim grows cold and a later run begins again: the same problem and seed pass through
the same plans, so what was found is found again, and until then stays shown.
"""

from __future__ import annotations

import logging
import secrets
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from django.db import DatabaseError, IntegrityError, transaction
from django.db.models import F, Q
from django.utils.translation import gettext as _

from farm import dispatch
from farm.models import Plan
from farm.models.plan import PlanState
from farm.planning import problem as planning
from farm.planning import score
from farm.planning.codec import ReadingError
from farm.planning.problem import Problem
from farm.planning.solution import Solution
from farm.planning.solve import Progress, solve

log = logging.getLogger(__name__)

#: Without a sign of life for so long, whoever worked on a plan is taken to be gone.
COLD = timedelta(seconds=30)
#: How often progress is written at most.
BEAT = timedelta(milliseconds=400)
#: A plan that was begun so often and never finished is not begun again.
MOST_ATTEMPTS = 3
#: An automatic proposal that saves less than one move is not worth a keeper's time.
WORTH = 1000

Clock = Callable[[], datetime]


def run(*, plan_id: int, now: Clock, iterations: int | None = None) -> str:
    """Work a waiting plan out, or one whose run has died, and return its state afterwards; "" for one that is gone.

    Only one run works on a farm at a time; the next waiting plan is sent when it ends. iterations: fewer than the
    plan's own, for a page that cannot wait long. A plan that is not to be solved is left alone, so twice does no harm.
    """
    plan = Plan.objects.filter(pk=plan_id).first()
    if plan is None:
        return ""
    claim = _claim(plan, now)
    if claim:
        _Run(plan_id, claim, now, iterations).work()
        _send_next(plan.farm_id)
    return str(Plan.objects.values_list("state", flat=True).get(pk=plan_id))


def take_up(*, now: datetime) -> int:
    """Send again every plan of an open farm that waits or whose run has died, and return how many."""
    left = Plan.objects.filter(
        Q(state=PlanState.WAITING, made_at__lt=now - COLD)
        | Q(state=PlanState.SOLVING, beat_at__lt=now - COLD),
        farm__closing_on__isnull=True,
    )
    ids = list(left.values_list("pk", flat=True))
    for plan_id in ids:
        dispatch.after_commit("solve_plan", plan_id=plan_id)
    return len(ids)


def is_cold(plan: Plan, now: datetime) -> bool:
    """Say whether whoever worked on the plan is gone: it will be taken up again, or can be solved on the spot."""
    return plan.state == PlanState.SOLVING and (plan.beat_at is None or plan.beat_at < now - COLD)


def _claim(plan: Plan, now: Clock) -> str:
    """Return the claim on the plan that is now ours, "" when it is not to be had."""
    at, claim = now(), secrets.token_hex(16)
    dead = Q(state=PlanState.SOLVING, beat_at__lt=at - COLD)
    Plan.objects.filter(dead, farm_id=plan.farm_id).update(state=PlanState.WAITING, claim="")
    if _worn_out(plan, at):
        return ""
    try:
        with transaction.atomic():
            taken = Plan.objects.filter(pk=plan.pk, state=PlanState.WAITING).update(
                state=PlanState.SOLVING, claim=claim, beat_at=at, iteration=0, attempts=F("attempts") + 1
            )
    except IntegrityError:  # another plan of this farm is being worked out: it sends this one when it is done
        return ""
    return claim if taken else ""


def _worn_out(plan: Plan, at: datetime) -> bool:
    """Close a plan whose runs have died too often: the best one found is kept, or it says that there is none."""
    mine = Plan.objects.filter(pk=plan.pk, state=PlanState.WAITING, attempts__gte=MOST_ATTEMPTS)
    text = _("The work on this plan was broken off %(times)d times.") % {"times": MOST_ATTEMPTS}
    closed = {"finished_at": at, "version": F("version") + 1}
    kept = mine.filter(solution__isnull=False).update(
        state=PlanState.READY, error=f"{text} {_('This is the best that was found until then.')}", **closed
    )
    return bool(
        kept or mine.filter(solution__isnull=True).update(state=PlanState.FAILED, error=text, **closed)
    )


def _send_next(farm_id: int) -> None:
    waiting = Plan.objects.filter(farm_id=farm_id, state=PlanState.WAITING).order_by("pk").first()
    if waiting is not None:
        dispatch.after_commit("solve_plan", plan_id=waiting.pk)


class _Run:
    """One run on one plan, which is its own as long as the plan carries its claim."""

    def __init__(self, plan_id: int, claim: str, now: Clock, iterations: int | None) -> None:
        self.mine = Plan.objects.filter(pk=plan_id, claim=claim, state=PlanState.SOLVING)
        self.now, self.told = now, now() - BEAT
        self.plan = Plan.objects.get(pk=plan_id)
        self.iterations = min(iterations or self.plan.iterations, self.plan.iterations)
        self.improved = False
        self.lost = False

    def work(self) -> None:
        """Solve and close the plan. Raises DatabaseError, so that the job is tried again; all else fails the plan."""
        try:
            problem = planning.from_json(self.plan.problem)
            self.problem = problem
            found = solve(problem, seed=0, iterations=self.iterations, report=self.report)
            if not self.lost:
                self._close(problem, found)
        except DatabaseError:
            self.mine.update(state=PlanState.WAITING, claim="")
            raise
        except ReadingError as error:
            self._fail(str(error))
        except Exception:
            log.exception("plan %s could not be worked out", self.plan.pk)
            self._fail(_("Something went wrong while this plan was worked out. The log says what."))

    def report(self, progress: Progress) -> bool:
        """Write how far it is, now and then, and return whether to go on."""
        self.improved |= progress.improved
        at = self.now()
        if at - self.told < BEAT:
            return True
        self.told = at
        fields: dict[str, Any] = {"iteration": progress.iteration, "beat_at": at}
        if self.improved:
            fields |= whole(self.problem, progress.solution())
            self.improved = False
        if not self.mine.update(**fields):
            self.lost = True
            return False
        return not self.mine.filter(cancel_asked=True).exists()

    def _close(self, problem: Problem, found: Solution) -> None:
        at = self.now()
        fields: dict[str, Any] = {"iteration": found.iterations, "finished_at": at, "beat_at": at}
        keep = not self.plan.automatic or worth_it(problem, found)
        fields["state"] = PlanState.READY if keep else PlanState.DROPPED
        self.mine.update(claim="", version=F("version") + 1, **fields, **whole(problem, found))

    def _fail(self, text: str) -> None:
        self.mine.update(
            state=PlanState.FAILED, claim="", error=text, finished_at=self.now(), version=F("version") + 1
        )


def whole(problem: Problem, found: Solution) -> dict[str, Any]:
    """Return a solution with its bill as a plan's fields: they are only ever written together."""
    return {
        "solution": found.to_json(),
        "bill": said(score.bill(problem, found.plans)),
        "bound": found.bound,
    }


def said(bill: score.Bill) -> dict[str, Any]:
    """Return a bill as JSON values."""
    return {
        "terms": dict(bill.terms),
        "total": bill.total,
        "shortfall": bill.shortfall,
        "birds_short": bill.birds_short,
    }


def worth_it(problem: Problem, found: Solution) -> bool:
    """Say whether a plan is better than what is adopted by more than a trifle: less short, or a move saved."""
    before, after = score.bill(problem, problem.adopted), score.bill(problem, found.plans)
    return after.shortfall < before.shortfall or after.total + WORTH <= before.total
