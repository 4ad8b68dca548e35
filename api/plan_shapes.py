"""Plans, their shortfalls and the ways out of them, as the API shows them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import datetime
from typing import Any

from ninja import Field, Schema

from api.core.shapes import Day
from farm.models import Plan
from farm.models.plan import PlanKind, PlanState, ProofState
from farm.phrase import Phrase
from farm.planning.breach import KINDS
from farm.planning.problem import Problem
from farm.planning.shortfalls import Shortfall
from farm.planning.solution import BatchPlan, Solution
from farm.queries.plans import Shown
from farm.services import plan_changes
from farm.web.plan import sentences, verdict
from farm.web.plan.ways import Offers
from farm.wording import say


class Thing(Schema):
    """A batch or housing of a plan. id: null for one only thought of."""

    key: str
    id: int | None
    name: str


class ShortfallOut(Schema):
    """Days on which birds lack floor, feeder or drinker edge, heat or a housing. Ways out are asked for by its kind,
    housing key and one of its days."""

    kind: str = Field(description="room, feeder, drinker, heat or unhoused.")
    housing: Thing | None = Field(description="Null for birds that have none.")
    batches: list[Thing]
    start: Day
    end: Day = Field(description="The first day after it.")
    worst_day: Day
    short: float = Field(description="How much is missing on the worst day.")
    measure: str = Field(description="What `short` counts: “m² of floor”, “cm of feeder edge” …")
    birds: int = Field(description="The fewest birds to take out so that nothing is short that day.")
    sentence: str
    why: list[str] = Field(description="What keeps each housing of their kind closed to birds without one.")


class PlanLine(Schema):
    """A plan in a list."""

    code: str
    version: int
    kind: PlanKind
    automatic: bool = Field(description="Proposed by itself after a loss or the like.")
    state: PlanState
    reason: str
    made_at: datetime
    made_by_id: int | None
    made_by: str
    finished_at: datetime | None
    adopted_at: datetime | None
    undone: bool = Field(description="It was adopted, and the adoption was taken back.")
    iteration: int = Field(description="Repairs tried so far.")
    iterations: int = Field(description="Repairs to be tried.")
    cost: int | None = Field(description="Of the best plan so far; 1000 is the price of one move.")
    bound: int | None = Field(description="No plan can cost less.")
    gap: float | None = Field(description="Share of the cost that is not proved necessary; 0 is proved best.")


class PlanOut(PlanLine):
    """One plan: how far it is, what it does otherwise than is planned now, and what it still lacks."""

    changes: list[str] = Field(description="What it tries, in words.")
    not_kept: list[str] = Field(description="What it plans for but adopting does not record.")
    verdict: str | None = Field(description="How good it is shown to be.")
    proof: ProofState
    moves: list[str] = Field(description="What moves otherwise than is planned now, by day.")
    shortfalls: list[ShortfallOut]
    bill: dict[str, int] = Field(description="What it costs, by term; empty while there is no plan yet.")
    bill_now: dict[str, int] = Field(description="What is planned now costs, by term.")
    changed_since: list[str] = Field(
        description="What was written since it was made: it must be worked out anew."
    )
    error: str


class PlannedStay(Schema):
    """Birds of a batch in one housing over the days from `start` up to and without `end`."""

    housing: Thing | None = Field(description="Null: no place was found for them.")
    birds: int
    start: Day
    end: Day


class Compared(Schema):
    """One batch as planned now and as in a plan. now: empty for one only thought of."""

    batch: Thing
    differs: bool
    now: list[PlannedStay]
    then: list[PlannedStay]


class WayOut(Schema):
    """One change that was solved again and ends the shortfall."""

    sentence: str
    costs: list[str]
    caution: str | None
    left: list[str] = Field(description="What is still short anywhere afterwards.")
    offer: str = Field(description="Send it as `offer` of a new plan to try this way.")


class WaysOut(Schema):
    """The ways out of one shortfall, the cheapest first."""

    shortfall: ShortfallOut
    ways: list[WayOut]
    nothing_helps: bool = Field(description="Every kind of change was tried in vain.")
    hurried: bool = Field(description="None was found, but not all were tried: time was up.")
    proved: str | None = Field(description="Proof that no plan of these birds and housing avoids it.")


def line(plan: Plan) -> dict[str, Any]:
    """Return a plan as a list shows it."""
    cost = None if plan.bill is None else plan.bill["total"]
    own = (
        *("code", "version", "kind", "automatic", "state", "reason", "made_at", "made_by_id", "finished_at"),
        *("adopted_at", "iteration", "iterations", "bound"),
    )
    return {name: getattr(plan, name) for name in own} | {
        "made_by": str(plan.made_by or ""),
        "undone": plan.adoption is not None and hasattr(plan.adoption, "undone_by"),
        "cost": cost,
        "gap": None if cost is None or plan.bound is None else (cost - plan.bound) / cost if cost else 0.0,
    }


def words(found: Shown, short: Iterable[Shortfall], system: str) -> dict[str, Any]:
    """Return what is worked out of a plan's solution. short: what it lacks; system: the farm's units for sentences."""
    return {
        "moves": _said(found.moves, system),
        "shortfalls": [shortfall(one, found.problem, system) for one in short],
        "verdict": None if found.solution is None else say(verdict.verdict(found.solution), system),
    }


def tried(found: Shown, changes: Any, system: str) -> dict[str, list[str]]:
    """Return what a plan tries, in words."""
    return {
        "changes": _said(sentences.said(changes, found.problem), system),
        "not_kept": _said(plan_changes.not_kept(changes), system),
    }


def shortfall(one: Shortfall, problem: Problem, system: str) -> dict[str, Any]:
    """Return a shortfall of a problem's plan."""
    breach = one.breach
    return {
        "kind": breach.kind,
        "housing": None if breach.room is None else thing(breach.room, problem.housings),
        "batches": [thing(key, problem.batches) for key in breach.groups],
        "start": breach.start,
        "end": breach.end,
        "worst_day": breach.worst,
        "short": round(breach.short, 3),
        "measure": KINDS[breach.kind],
        "birds": breach.birds,
        "sentence": say(one.sentence, system),
        "why": _said(one.why, system),
    }


def ways(found: Offers, problem: Problem, system: str) -> dict[str, Any]:
    """Return the ways out of a shortfall of a problem's plan."""
    return {
        "shortfall": shortfall(found.shortfall, problem, system),
        "ways": [
            {
                "sentence": say(offer.sentence, system),
                "costs": _said(offer.costs, system),
                "caution": None if offer.caution is None else say(offer.caution, system),
                "left": _said(offer.left, system),
                "offer": offer.sealed,
            }
            for offer in found.offers
        ],
        "nothing_helps": found.nothing,
        "hurried": found.hurried,
        "proved": None if found.proved is None else say(found.proved, system),
    }


def compared(problem: Problem, solution: Solution, changed: frozenset[str]) -> Iterator[dict[str, Any]]:
    """Yield each batch of a plan beside what is planned now, by hatch day as the problem has them."""
    before = {plan.batch: plan for plan in problem.adopted}
    for batch in problem.batches:
        yield {
            "batch": thing(batch.key, problem.batches),
            "differs": batch.key in changed,
            "now": _stays(before.get(batch.key), problem),
            "then": _stays(solution.by_batch.get(batch.key), problem),
        }


def thing(key: str, rows: Iterable[Any]) -> dict[str, Any]:
    """Return a batch or housing of a problem by its key."""
    name = next((row.name for row in rows if row.key == key), key)
    return {"key": key, "id": int(key) if key.isdigit() else None, "name": name}


def _stays(plan: BatchPlan | None, problem: Problem) -> list[dict[str, Any]]:
    found = [
        {
            "housing": None if stay.housing is None else thing(stay.housing, problem.housings),
            "birds": part.birds,
            "start": stay.start,
            "end": stay.end,
        }
        for part in (plan.parts if plan else ())
        for stay in part.stays
    ]
    return sorted(found, key=lambda stay: (stay["start"], -stay["birds"]))


def _said(phrases: Iterable[Phrase], system: str) -> list[str]:
    return [say(each, system) for each in phrases]
