"""Make a rota: build a first one from blocks, then improve it by a budget of steps."""

from __future__ import annotations

from farm.planning.rota.bound import least
from farm.planning.rota.building import build
from farm.planning.rota.choices import choices
from farm.planning.rota.draft import Draft, Plan
from farm.planning.rota.fair import fair
from farm.planning.rota.improving import Search
from farm.planning.rota.records import RotaAnswer, RotaProblem

#: Cells looked at: project default (judgement), about a second for eight people and four weeks.
STEPS = 40_000
#: A cost above the bound by no more than this is so by rounding alone: project default (judgement).
CLOSED = 1e-6


def solve(problem: RotaProblem, *, steps: int = STEPS) -> RotaAnswer:
    """Return a rota that breaks no hard rule and leaves no seat empty that could be filled.

    The same problem has the same answer everywhere, however its people and jobs are ordered. `previous` is kept where
    it still can be and changed only where that is worth it. steps: how many cells are looked at to improve the first
    rota. Raises ValueError as `choices`.
    """
    open_ = choices(problem)
    plan = Plan(problem, open_, fair(problem, open_).targets)
    draft = Draft(plan, build(plan))
    search = Search(draft, problem.seed, steps, gentle=any(plan.before))
    search.run()
    best = Draft(plan, search.best)
    bill, bound = best.bill, least(plan)
    gap = (bill.cost - bound) / max(bill.cost, 1.0) if bill.cost - bound > CLOSED else 0.0
    return RotaAnswer(best.assigned(), bill, bound, gap, proved=gap == 0, dropped_pins=open_.dropped)
