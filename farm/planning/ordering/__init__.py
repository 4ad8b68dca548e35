"""Backwards from orders: which eggs to set, and which chicks to buy, so that promised birds are there on their days.

    proposal = propose(need)        # always an answer; the same need gives the same answer

`records` says what is asked and answered, `calendar` which days do, `sizing` how many eggs, `racks` and `rooms` where
there is room for them, `draft` and `placing` make a proposal, `improving` betters it, `reasons` and `ways` say why
birds are missing and what would help.
"""

from farm.planning.ordering.propose import propose
from farm.planning.ordering.records import (
    BrooderRoom,
    LineAnswer,
    Need,
    OrderKind,
    Proposal,
    ProposedIntake,
    ProposedSet,
    Supplier,
    Way,
    Weights,
)
from farm.planning.ordering.rooms import PlannedRoom, horizon

__all__ = [
    "BrooderRoom",
    "LineAnswer",
    "Need",
    "OrderKind",
    "PlannedRoom",
    "Proposal",
    "ProposedIntake",
    "ProposedSet",
    "Supplier",
    "Way",
    "Weights",
    "horizon",
    "propose",
]
