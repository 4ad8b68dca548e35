"""Who has how much of the work, and what would be their part."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from farm.models import Farm, Member
from farm.phrase import Phrase
from farm.planning import rota as engine
from farm.queries import rota_problem, rota_rows


@dataclass(frozen=True, slots=True)
class FairRow:
    """One member's work over the days of fairness, in minutes.

    target: their part. done: of it, what they did. planned: what they are given from today on and have not done yet.
    reachable: the most they could do of all there is. why: what keeps them from their part, None where nothing does.
    """

    member: Member
    target: float
    done: int
    planned: int
    reachable: int
    why: Phrase | None

    @property
    def off(self) -> float:
        """Return how many minutes more than their part they have; below 0 for less."""
        return self.done + self.planned - self.target


def fairness(farm: Farm, today: date) -> list[FairRow]:
    """Return everybody on the farm by name, as the rota in force has them; none without a rota. Nothing is solved."""
    asked = rota_problem.problem(farm, today)
    loads = {load.person: load for load in engine.loads(asked, asked.previous)}
    found = []
    for member in rota_rows.members(farm).values():
        load = loads.get(str(member.pk))
        if load is not None:
            found.append(FairRow(member, load.target, load.done, load.assigned, load.reachable, load.why))
    return found
