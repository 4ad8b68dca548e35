"""Judges of who shares a room: ages apart, species that must not meet, rooms for one batch."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence
from itertools import combinations
from typing import Protocol

import numpy as np

from farm.planning.breach import Breach, worst_runs
from farm.planning.indoors import Indoors, ages, asked_by_day
from farm.planning.premises import Bools, Ints


class Apart(Protocol):
    """The rule that parts two species, or something false; brooding: whether a bird of either needs heat.

    `farm.trade.mixing.mixing().apart` is one. A rule may have `rest_days`, the days between the two on one
    ground.
    """

    def __call__(self, first: str, second: str, brooding: bool) -> object:
        """Return the rule for two species, in any order."""


def apart_from(rules: Apart | Collection[Collection[str]]) -> Apart:
    """Return `rules` as a function; a collection is of the pairs of species that never share."""
    if callable(rules):
        return rules
    known = {frozenset(pair) for pair in rules}
    return lambda first, second, brooding: frozenset((first, second)) in known


def ages_too_far(inside: Indoors) -> Iterator[Breach]:
    """Yield the days on which the oldest and youngest batch in a room are further apart than it allows."""
    allowed = inside.room.max_age_gap_days
    if allowed is None:
        return
    gap = np.zeros(inside.window.days, dtype=np.int64)
    for one, other in combinations(inside.birds, 2):
        between = abs((inside.groups[one].hatch_day - inside.groups[other].hatch_day).days)
        both = (inside.birds[one] > 0) & (inside.birds[other] > 0)
        gap = np.where(both, np.maximum(gap, between), gap)
    for run in worst_runs((gap - allowed).astype(np.float64)):
        present = inside.present(run.worst)
        age = {key: int(ages(inside.groups[key], inside.window)[run.worst]) for key in present}
        # The oldest first, the youngest last: the two the sentence names.
        groups = tuple(sorted(age, key=lambda key: (-age[key], key)))
        birds = _fewest_for_gap(present, age, allowed)
        yield run.breach(inside.window, "age_gap", inside.room.key, groups, birds)


def _fewest_for_gap(birds: dict[str, int], age: dict[str, int], allowed: int) -> int:
    """Return the least birds to take out so that the ages left lie within `allowed` days."""
    kept = (
        sum(count for key, count in birds.items() if 0 <= age[key] - youngest <= allowed)
        for youngest in set(age.values())
    )
    return sum(birds.values()) - max(kept)


def species_apart(inside: Indoors, apart: Apart) -> Iterator[Breach]:
    """Yield the days on which species that must be kept apart are in a room together.

    `short` counts the birds of every batch concerned.
    """
    involved = {key: np.zeros(inside.window.days, dtype=np.bool_) for key in inside.birds}
    quarrels = []
    for one, other in combinations(inside.birds, 2):
        days = _days_apart(inside, one, other, apart)
        quarrels.append((one, other, days))
        involved[one] |= days
        involved[other] |= days
    short = np.zeros(inside.window.days)
    for key, days in involved.items():
        short += np.where(days, inside.birds[key], 0)
    for run in worst_runs(short):
        groups = tuple(key for key, days in involved.items() if days[run.worst])
        pairs = [(one, other) for one, other, days in quarrels if days[run.worst]]
        birds = _fewest_to_part(inside.present(run.worst), pairs)
        yield run.breach(inside.window, "species", inside.room.key, groups, birds)


def _days_apart(inside: Indoors, one: str, other: str, apart: Apart) -> Bools:
    """Return the days on which two groups are in the room and a rule says they must not be."""
    both = (inside.birds[one] > 0) & (inside.birds[other] > 0)
    first, second = inside.groups[one], inside.groups[other]
    brooded = bool(apart(first.species, second.species, True))
    grown = bool(apart(first.species, second.species, False))
    if brooded == grown or not both.any():
        return both & brooded
    heat = [asked_by_day(group, inside.window, "heat") > 0 for group in (first, second)]
    return both & np.where(heat[0] | heat[1], brooded, grown)


def _fewest_to_part(birds: dict[str, int], pairs: Sequence[tuple[str, str]]) -> int:
    """Return the least birds to take out, whole batches at a time, so that no pair is left together.

    Either the batch with most quarrels goes, or everyone it quarrels with: exact, and quick for a roomful.
    """
    if not pairs:
        return 0
    quarrels = Counter(key for pair in pairs for key in pair)
    worst = min(quarrels, key=lambda key: (-quarrels[key], key))
    against = {one if other == worst else other for one, other in pairs if worst in (one, other)}
    without_worst = [pair for pair in pairs if worst not in pair]
    without_others = [pair for pair in pairs if not against & set(pair)]
    return min(
        birds[worst] + _fewest_to_part(birds, without_worst),
        sum(birds[key] for key in against) + _fewest_to_part(birds, without_others),
    )


def species_not_allowed(inside: Indoors) -> Iterator[Breach]:
    """Yield, for each batch, the days it is in a room kept for other species."""
    if not inside.room.species:
        return
    for key, birds in inside.birds.items():
        if inside.groups[key].species not in inside.room.species:
            for run in worst_runs(birds.astype(np.float64)):
                yield run.breach(inside.window, "species", inside.room.key, (key,), int(run.short))


def more_than_one(inside: Indoors) -> Iterator[Breach]:
    """Yield the days on which a room for one batch holds several; the largest batch may stay."""
    if not inside.room.one_batch:
        return
    together: Ints = np.zeros(inside.window.days, dtype=np.int64)
    for birds in inside.birds.values():
        together += birds > 0
    for run in worst_runs((together - 1).astype(np.float64)):
        present = inside.present(run.worst)
        birds_out = sum(present.values()) - max(present.values())
        yield run.breach(inside.window, "one_batch", inside.room.key, tuple(present), birds_out)
