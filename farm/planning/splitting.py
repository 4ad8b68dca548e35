"""Putting a batch in parts: only where it stands in a shortage, and only where that costs less than the shortage."""

from __future__ import annotations

from farm.planning.atlas import Sizes
from farm.planning.draft import Draft

#: Shares of the birds tried for the first part, in 12ths.
TWELFTHS = (6, 8, 9, 10, 4)
AT_ONCE = 4


def consider(draft: Draft, short: list[int], turn: int) -> None:
    """Try the parts of a few of the batches standing short, another few each turn; keep what is cheaper."""
    able = [batch for batch in short if draft.atlas.most_parts(batch) > len(draft.atlas.whole[batch])]
    for at in range(min(AT_ONCE, len(able))):
        batch = able[(turn * AT_ONCE + at) % len(able)]
        divide(draft, batch)


def divide(draft: Draft, batch: int) -> None:
    """Put a placed batch in the parts that cost least, if they cost less than it does now."""
    old = draft.remove(batch)
    held = draft.split.get(batch)
    out = draft.cost
    draft.put(batch, old)
    best, choice = draft.cost - out, None
    draft.remove(batch)
    for sizes in candidates(draft.ground.batches[batch].birds, draft.atlas.most_parts(batch)):
        draft.split[batch] = sizes
        found = draft.best(batch)
        if found.cost < best:
            best, choice = found.cost, found.placement
    if choice is None:
        draft.put(batch, old)
        draft.split.pop(batch)
        if held is not None:
            draft.split[batch] = held
    else:
        draft.put(batch, choice)
        draft.split[batch] = choice.sizes


def candidates(birds: int, most: int) -> list[Sizes]:
    """Return the sizes worth trying, without those that leave a part empty: two parts unequal, more parts equal."""
    found: list[Sizes] = []
    if most >= 2:
        found += [(first, birds - first) for first in (birds * share // 12 for share in TWELFTHS)]
    for parts in range(3, most + 1):
        each, over = divmod(birds, parts)
        found.append(tuple(each + (place < over) for place in range(parts)))
    return [sizes for sizes in dict.fromkeys(found) if min(sizes) > 0]
