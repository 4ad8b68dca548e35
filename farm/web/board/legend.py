"""What the colours and patterns mean: plumage by age, for the kinds of birds on the board."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from farm.models import Batch
from farm.phrase import N_
from farm.queries import programmes
from farm.web import plumage
from farm.web.board.bands import STAGES

NAMES = {
    "down": N_("down"),
    "pinning": N_("first pin feathers"),
    "feathering": N_("feathering"),
    "feathered": N_("feathered"),
}


@dataclass(frozen=True, slots=True)
class Swatch:
    """A stage with the colour at its beginning."""

    stage: str
    name: str
    colour: str


@dataclass(frozen=True, slots=True)
class Kind:
    """A programme and the day of age each stage begins, in the order of the swatches."""

    name: str
    days: tuple[int, ...]


def swatches() -> tuple[Swatch, ...]:
    """Return the four stages; the ramp is the same for every kind of bird."""
    return tuple(
        Swatch(stage, NAMES[stage], plumage.colour(round(share * 1000), 1000)) for stage, share in STAGES
    )


def kinds(batches: Iterable[Batch]) -> tuple[Kind, ...]:
    """Return the programmes of the batches by name, each once, with the first whole day of age in each stage."""
    found = {
        programmes.of(batch).name: programmes.of(batch).rules["feathered_day"].value for batch in batches
    }
    return tuple(Kind(name, _first_days(feathered)) for name, feathered in sorted(found.items()))


def _first_days(feathered_day: float) -> tuple[int, ...]:
    ages = range(int(feathered_day) + 2)
    return tuple(
        next(age for age in ages if plumage.stage(age, feathered_day) == stage) for stage, _share in STAGES
    )
