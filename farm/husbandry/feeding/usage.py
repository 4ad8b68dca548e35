"""What batches use a day: feed by kind, and water, by the tables and the cold; a farm's own factor comes on top."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import TypeVar

import numpy as np
from numpy.typing import ArrayLike, NDArray

from farm.husbandry import heat, rations, water
from farm.husbandry.growth import SEXES
from farm.trade.general import figure
from farm.trade.programme import Programme

Array = NDArray[np.float64]
Name = TypeVar("Name", bound=Hashable)


@dataclass(frozen=True, slots=True, order=True)
class Feed:
    """A kind of feed by what it is for: one species' starter is never another's, whatever the bags say."""

    species: str
    name: str
    protein_g_per_kg: float


@dataclass(frozen=True, slots=True, eq=False)
class Eater:
    """Birds of one hatch day that eat together, over a window of days.

    batch: whose cost it is. heads: birds alive on each day of the window. air_c: mean °C of the air they live in on
    each of those days, NaN where unknown; None where nobody knows. Raises ValueError for arrays of different length,
    a head count below 0 or an unknown sex.
    """

    batch: int
    programme: Programme
    sex: str
    hatch_day: date
    heads: NDArray[np.int64]
    air_c: Array | None = None

    def __post_init__(self) -> None:
        if self.sex not in SEXES:
            raise ValueError(f"no such sex of a batch: {self.sex}")
        if self.air_c is not None and len(self.air_c) != len(self.heads):
            raise ValueError("air_c must have one value for each day of heads")
        if (np.asarray(self.heads) < 0).any():
            raise ValueError("heads must not be below 0")

    def ages(self, first_day: date) -> NDArray[np.int64]:
        """Return the age in days on each day of a window that begins on `first_day`."""
        return (first_day - self.hatch_day).days + np.arange(len(self.heads))


def cold_share(air_c: ArrayLike) -> Array:
    """Return the share that birds without a heat source eat more in air of each °C; 0 where it is NaN.

    By so much a °C below 20, up to half as much again at the most.
    """
    below = figure("feed", "cold_from_c") - np.nan_to_num(
        np.asarray(air_c, dtype=np.float64), nan=figure("feed", "cold_from_c")
    )
    return np.clip(below * figure("feed", "cold_extra_share"), 0, figure("feed", "cold_most_share"))


def eaten_kg(eater: Eater, first_day: date) -> Array:
    """Return the feed these birds eat on each day of the window, by the tables and the cold, waste not counted.

    Nothing before they hatch. Cold counts once they are off heat: until then they have their warmth.
    """
    ages = eater.ages(first_day)
    kg = eater.heads * rations.feed_g(eater.programme, np.maximum(ages, 0), eater.sex) / 1000
    if eater.air_c is not None:
        kg = kg * np.where(heat.needs_heat(eater.programme, ages), 1, 1 + cold_share(eater.air_c))
    return np.where(ages < 0, 0, kg)


def by_feed(eater: Eater, first_day: date) -> dict[Feed, Array]:
    """Return what `eaten_kg` says by kind of feed, mixed in as each change asks; kinds never eaten are left out."""
    kg, programme = eaten_kg(eater, first_day), eater.programme
    found: dict[Feed, Array] = {}
    for part, phase in zip(rations.shares(programme, eater.ages(first_day)), programme.feeds, strict=True):
        if (part * kg).any():
            feed = Feed(programme.species, phase.feed, phase.protein_g_per_kg)
            found[feed] = found.get(feed, 0) + part * kg
    return found


def together(eaters: Iterable[Eater], first_day: date, name: Callable[[Feed], Name]) -> dict[Name, Array]:
    """Return the use of several batches over the same window, by what the farm calls each kind of feed.

    name: the farm's own name or number of a kind: two kinds of one name share their bags.
    """
    found: dict[Name, Array] = {}
    for eater in eaters:
        for feed, kg in by_feed(eater, first_day).items():
            found[name(feed)] = found.get(name(feed), 0) + kg
    return found


def of_batches(eaters: Iterable[Eater], first_day: date) -> Mapping[int, Array]:
    """Return the kg of all feeds on each day by batch."""
    found: dict[int, Array] = {}
    for eater in eaters:
        found[eater.batch] = found.get(eater.batch, 0) + eaten_kg(eater, first_day)
    return found


def drunk_l(eater: Eater, first_day: date) -> tuple[Array, Array]:
    """Return (least, most) litres these birds drink on each day of the window: the same unless it is hot."""
    ages = eater.ages(first_day)
    litres = eater.heads * water.water_l(eater.programme, np.maximum(ages, 0), eater.sex)
    litres = np.where(ages < 0, 0, litres)
    if eater.air_c is None:
        return litres, litres
    air_c = np.nan_to_num(eater.air_c, nan=figure("water", "hot_from_c"))
    factors = np.array([water.hot_factor(air) for air in air_c]).reshape(-1, 2)
    return litres * factors[:, 0], litres * factors[:, 1]
