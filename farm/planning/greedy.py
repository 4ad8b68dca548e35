"""A first plan: the adopted one as far as it still holds, then every other batch once, where it costs least."""

from __future__ import annotations

from farm.planning import answer
from farm.planning.draft import Draft


def begin(draft: Draft) -> None:
    """Place every batch: adopted plans first, then pinned batches and those already here, then the largest."""
    for batch, given in enumerate(draft.ground.batches):
        plan = draft.ground.adopted.get(given.key)
        found = None if plan is None else answer.placement(draft, batch, plan)
        if found is not None and answer.allowed(draft, batch, found):
            if len(found.sizes) > len(draft.atlas.whole[batch]):
                draft.split[batch] = found.sizes
            draft.put(batch, found)
    for batch in order(draft):
        draft.insert(batch)


def order(draft: Draft) -> list[int]:
    """Return the batches that are out in the order to place them."""
    atlas = draft.atlas

    def rank(batch: int) -> tuple[bool, bool, int, int]:
        given = draft.ground.batches[batch]
        return not atlas.fixed[batch], not given.history, -weight(draft, batch), batch

    return sorted((batch for batch, placed in enumerate(draft.placed) if placed is None), key=rank)


def weight(draft: Draft, batch: int) -> int:
    """Return the dm²·days a batch asks for over its life."""
    given, atlas = draft.ground.batches[batch], draft.atlas
    lane = atlas.lane(batch, 0, draft.ground.days.index(given.arrival.day))
    loads, _ = atlas.loads(batch, given.birds, lane)
    return int(loads[0].sum())
