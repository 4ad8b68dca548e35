"""Small edits of a problem: what a keeper may try, and what a way out asks for.

    move = MoveArrival("batch:7", date(2031, 5, 10))
    solve(move.apply(problem))
    from_json(to_json(move)) == move

An edit never touches history. `apply` raises codec.ReadingError, with the field and the fix, where it makes no sense.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Protocol

from farm.phrase import N_, Phrase
from farm.planning import codec
from farm.planning.changes.batches import (
    AddBatch,
    AllowSplit,
    ChangeBirds,
    DropBatch,
    DropPins,
    ForbidHousing,
    LeaveEarly,
    MoveArrival,
    PinStay,
)
from farm.planning.changes.edits import with_area, with_birds
from farm.planning.changes.housings import AddHousing, ChangeArea, LoseHousing, WaiveRest
from farm.planning.problem import Problem

__all__ = [
    "KINDS", "AddBatch", "AddHousing", "AllowSplit", "Change", "ChangeArea", "ChangeBirds", "DropBatch", "DropPins",
    "ForbidHousing", "LeaveEarly", "LoseHousing", "MoveArrival", "PinStay", "WaiveRest", "apply_all", "from_json",
    "to_json", "with_area", "with_birds",
]  # fmt: skip


class Change(Protocol):
    """Anything that turns one problem into another."""

    def apply(self, problem: Problem) -> Problem:
        """Return the problem with the change made."""


KINDS: Mapping[str, type[Any]] = {
    "add_batch": AddBatch, "drop_batch": DropBatch, "move_arrival": MoveArrival, "change_birds": ChangeBirds,
    "leave_early": LeaveEarly, "allow_split": AllowSplit, "forbid_housing": ForbidHousing, "pin_stay": PinStay,
    "drop_pins": DropPins, "add_housing": AddHousing, "lose_housing": LoseHousing, "change_area": ChangeArea,
    "waive_rest": WaiveRest,
}  # fmt: skip


def to_json(change: Change) -> dict[str, Any]:
    """Return objects JSON knows; `from_json` is the exact inverse."""
    (kind,) = (name for name, known in KINDS.items() if type(change) is known)
    return {"kind": kind, **codec.plain(change)}


def from_json(data: Mapping[str, Any]) -> Change:
    """Return the change `to_json` wrote. Raises codec.ReadingError with (path, message) pairs."""
    kind = KINDS.get(str(data.get("kind")))
    if kind is None:
        known = {"known": ", ".join(KINDS)}
        raise codec.ReadingError([("kind", Phrase(N_("is none we know; there are: %(known)s"), known))])
    found: Change = codec.read(kind, {name: value for name, value in data.items() if name != "kind"})
    return found


def apply_all(problem: Problem, changes: tuple[Change, ...]) -> Problem:
    """Return the problem with the changes made one after the other."""
    for change in changes:
        problem = change.apply(problem)
    return problem
