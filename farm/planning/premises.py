"""What occupancy is asked about: rooms and what they give, groups and what a bird asks for, parts of both."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Protocol

import numpy as np
import numpy.typing as npt

from farm.phrase import Phrase

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]
Bools = npt.NDArray[np.bool_]

#: Less than this over capacity is rounding, not a shortfall (m² and cm alike).
TOLERANCE = 1e-6


class Needs(Protocol):
    """What one bird asks for on each day of age, from day 0; an older bird holds the last value."""

    @property
    def area_m2(self) -> Floats:
        """Floor in m²."""

    @property
    def feeder_cm(self) -> Floats:
        """Feeder edge in cm."""

    @property
    def drinker_cm(self) -> Floats:
        """Drinker edge in cm."""

    @property
    def heat(self) -> Bools:
        """Whether the bird needs a heat source."""


@dataclass(frozen=True, slots=True)
class Room:
    """One housing as the plan sees it.

    feeder_cm, drinker_cm: 0 means not recorded, so nothing is judged by it. max_age_gap_days: None means any
    ages together. In service over the half-open [in_service_from, in_service_to), None an open side. species:
    empty = any.
    """

    key: str
    name: str
    area_m2: float
    feeder_cm: float = 0.0
    drinker_cm: float = 0.0
    heated: bool = False
    indoor: bool = True
    one_batch: bool = False
    max_age_gap_days: int | None = None
    rest_days: int = 0
    in_service_from: date | None = None
    in_service_to: date | None = None
    species: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True, eq=False)
class Group:
    """One batch as the plan sees it; `describe` reads like "40 layer chicks hatched 12 April"."""

    key: str
    name: str
    species: str
    hatch_day: date
    needs: Needs
    describe: Phrase | str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Part:
    """Birds of one group in one room over [start, end): `birds` has a count for each day of the window.

    override: the keeper recorded a reason for keeping birds that need heat here without a heat source.
    """

    stay: str
    group: str
    room: str
    start: date
    end: date | None
    birds: Ints
    override: bool = False
