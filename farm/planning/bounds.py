"""What no plan can undercut."""

from __future__ import annotations

from farm.planning.atlas import Atlas, Sizes
from farm.planning.ground import Ground
from farm.planning.problem import Problem


def empty_farm(problem: Problem) -> int:
    """Return a cost no plan of the problem can go below: every batch's best on a farm that is otherwise empty.

    Others can only take room, forbid days or share a housing. A day nearly full is left out: two batches may cause it
    together for the price of one. Exact where batches do not meet. Raises codec.ReadingError for a problem that
    cannot be solved.
    """
    return of(Atlas(Ground(problem)))


def of(atlas: Atlas) -> int:
    """Return `empty_farm` from lanes already made."""
    return sum(alone(atlas, batch) for batch in range(len(atlas.whole)))


def alone(atlas: Atlas, batch: int) -> int:
    """Return the least one batch costs alone, whole or in parts.

    In at most k parts, one part holds at least a k-th of the birds, and costs at least what so few cost alone.
    """
    whole, most = atlas.whole[batch], atlas.most_parts(batch)
    found = atlas.least(batch, [whole])
    if most > len(whole):
        fewest: Sizes = (-(-atlas.ground.batches[batch].birds // most),)
        split = atlas.ground.weights.splits
        # What a look at the ages alone says is dearer than the whole need not be looked at.
        if any(split + atlas.floor(batch, fewest, arrival) < found for arrival in atlas.arrivals[batch]):
            found = min(found, split + atlas.least(batch, [fewest]))
    return found
