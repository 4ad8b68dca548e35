"""A farm's rota as rows know it: its rules, the question it answers, who does what, how fair that is."""

from __future__ import annotations

from farm.queries.rota_fair import FairRow, fairness
from farm.queries.rota_problem import asked, problem, without
from farm.queries.rota_rows import assigned, group_of, members, places, rules
from farm.queries.rota_short import Short, short
from farm.queries.rota_week import Week, Work, week

__all__ = [
    "FairRow",
    "Short",
    "Week",
    "Work",
    "asked",
    "assigned",
    "fairness",
    "group_of",
    "members",
    "places",
    "problem",
    "rules",
    "short",
    "week",
    "without",
]
