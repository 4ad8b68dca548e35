"""The rota: who does which occurrences of the agenda, fairly; pure.

    answer = solve(problem)
    answer.assigned, answer.bill, loads(problem, answer.assigned), unfilled(problem, answer.assigned)

What is exact: the hard rules, what each wish counts (`score`), the targets (`fair`), the seats nobody can fill. What is
not: the rota is found by a search with a budget of steps, and `lower_bound` adds up wishes that are at odds, so a gap
doesn't mean that a better rota exists.

Where to look: records · choices (hard rules: who could) · cut fair (targets) · score (the bill) · building draft
improving solve (the search) · bound · check (judges every rota) · loads lacking comparing (what is told about one).
"""

from farm.planning.rota.bound import lower_bound
from farm.planning.rota.check import check
from farm.planning.rota.comparing import compare
from farm.planning.rota.fair import targets
from farm.planning.rota.lacking import unfilled
from farm.planning.rota.loads import loads
from farm.planning.rota.records import (
    Assigned,
    Bill,
    CellChange,
    Key,
    Load,
    RotaAnswer,
    RotaJob,
    RotaPerson,
    RotaProblem,
    Unfilled,
    Weights,
)
from farm.planning.rota.score import score
from farm.planning.rota.solve import solve

__all__ = [
    "Assigned",
    "Bill",
    "CellChange",
    "Key",
    "Load",
    "RotaAnswer",
    "RotaJob",
    "RotaPerson",
    "RotaProblem",
    "Unfilled",
    "Weights",
    "check",
    "compare",
    "loads",
    "lower_bound",
    "score",
    "solve",
    "targets",
    "unfilled",
]
