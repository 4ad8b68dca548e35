"""What share of eggs hatches and of bought chicks arrives alive, learned from the farm's own sets and intakes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from django.db.models import Q, QuerySet, Sum

from farm.husbandry import incubation
from farm.husbandry.learning import Belief, Learned, SetResult, intake_losses, learned
from farm.husbandry.odds import Stage
from farm.models import EggSet, Farm, Intake
from farm.models.egg_set import EggKind, EggSetState
from farm.models.intake import IntakeState
from farm.trade.eggs import egg_kind
from farm.trade.general import figure
from farm.trade.programme import Programme

#: Kinds that only somebody who candled can have found: such a set says how many were fertile.
CANDLED = (EggKind.CLEAR, EggKind.EARLY_DEAD, EggKind.QUITTER)


@dataclass(frozen=True, slots=True)
class SpeciesRates:
    """What the farm knows of one species. sets, eggs: its hatches so far; intakes, chicks: those received."""

    species: str
    learned: Learned
    sets: int
    eggs: int
    arrives: Belief
    intakes: int
    chicks: int


class FarmRates:
    """A farm's rates by species, read once with two queries."""

    def __init__(self, farm: Farm) -> None:
        self.farm = farm

    def of(self, species: str) -> SpeciesRates:
        """Return what is known of a species; without own records, what the tables say. KeyError for an unknown one."""
        results, came = self._results.get(species, []), self._intakes.get(species, [])
        kind, worth = egg_kind(species), figure("incubation", "prior_eggs")
        arrives = Belief.of(1 - figure("losses", "lost_on_the_way"), figure("losses", "prior_birds"))
        return SpeciesRates(
            species=species,
            learned=learned(Belief.of(kind.fertility, worth), Belief.of(kind.hatch_rate, worth), results),
            sets=len(results),
            eggs=sum(one.eggs for one in results),
            arrives=intake_losses(arrives, came),
            intakes=len(came),
            chicks=sum(alive + dead for alive, dead in came),
        )

    def stages(self, programme: Programme, stored_days: int, month: int) -> tuple[Stage, ...]:
        """Return what an egg passes from set to chick. month: 1 to 12, of the hatch.

        The farm's rate falls for long storage as the table's does.
        """
        belief = self.of(programme.species).learned.by_month[month]
        lost = incubation.hatch_rate(programme.species, 0) - incubation.hatch_rate(
            programme.species, stored_days
        )
        return (Stage("hatched", max(0.0, belief.mean - lost), belief.worth),)

    def stages_of_fertile(self, programme: Programme, stored_days: int, month: int) -> tuple[Stage, ...]:
        """Return what an egg still passes that candling has shown to live."""
        (stage,) = self.stages(programme, stored_days, month)
        fertile = self.of(programme.species).learned.fertility.mean
        return (Stage("hatched", min(1.0, stage.chance / fertile), (stage.worth or 0) * fertile),)

    def arrival(self, programme: Programme) -> Stage:
        """Return the chance that a bought chick arrives alive."""
        belief = self.of(programme.species).arrives
        return Stage("arrived", belief.mean, belief.worth)

    @cached_property
    def _results(self) -> Mapping[str, list[SetResult]]:
        found: dict[str, list[SetResult]] = {}
        for row in _with_sums(EggSet.objects.filter(farm=self.farm, state=EggSetState.HATCHED)):
            result = SetResult(
                month=row["hatched_on"].month,
                eggs=row["eggs"],
                clear=None if row["candled"] is None else row["clear"] or 0,
                hatched=row["hatched"] or 0,
            )
            found.setdefault(row["species"], []).append(result)
        return found

    @cached_property
    def _intakes(self) -> Mapping[str, list[tuple[int, int]]]:
        found: dict[str, list[tuple[int, int]]] = {}
        rows = Intake.objects.filter(farm=self.farm, state=IntakeState.ARRIVED)
        for species, alive, dead in rows.values_list("species", "alive", "dead"):
            found.setdefault(species, []).append((alive or 0, dead or 0))
        return found


def stages(farm: Farm, programme: Programme, stored_days: int, month: int) -> tuple[Stage, ...]:
    """Return what an egg passes from set to chick on this farm. month: 1 to 12, of the hatch."""
    return FarmRates(farm).stages(programme, stored_days, month)


def arrival(farm: Farm, programme: Programme) -> Stage:
    """Return the chance that a chick bought for this farm arrives alive."""
    return FarmRates(farm).arrival(programme)


def _with_sums(rows: QuerySet[EggSet]) -> Iterable[Mapping[str, Any]]:
    return rows.values("pk", "species", "eggs", "hatched_on").annotate(
        clear=Sum("entries__eggs", filter=Q(entries__kind=EggKind.CLEAR)),
        hatched=Sum("entries__eggs", filter=Q(entries__kind=EggKind.HATCHED)),
        candled=Sum("entries__eggs", filter=Q(entries__kind__in=CANDLED)),
    )
