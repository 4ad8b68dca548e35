"""Which batch serves which line, once it is known how many birds each line gets: as few batches a line as may be.

Lines and batches that could trade birds form groups; each small group is solved exactly by the general solver, a large
one keeps what the flow found, which takes live birds and fitting ages first as well, line by line.
"""

from __future__ import annotations

from collections.abc import Iterable

from farm.planning.allotments.flow import Flow
from farm.planning.allotments.pool import Pool

#: Groups with more pairs than this keep the flow's own answer: the wait would not be worth it.
MOST_PAIRS = 40
#: Seconds for each of the three wishes in a group; a small one takes hundredths.
SECONDS = 0.5


def share(pool: Pool, flow: Flow, most_pairs: int = MOST_PAIRS) -> tuple[int, ...]:
    """Return the birds of each pair; every line gets what the flow gave it."""
    birds = list(flow.birds)
    for group in _groups(pool, flow):
        choosing = any(len(pool.by_line[line]) > 1 for line in {pool.pairs[place].line for place in group})
        if choosing and len(group) <= most_pairs:
            for place, found in zip(group, _best(pool, flow, group), strict=True):
                birds[place] = found
    return tuple(birds)


def _best(pool: Pool, flow: Flow, group: list[int]) -> Iterable[int]:
    # Here, not above: whoever only reads an allotment should not wait until the solver is loaded.
    from farm.planning.exact.sharing_out import Choice, share_out

    choices = []
    for place in group:
        pair = pool.pairs[place]
        supply = pool.parts[pair.part].supply
        batch = pool.supplies.index(supply)
        choices.append(Choice(pair.line, pair.part, pair.bucket, batch, not supply.live, pair.off))
    fills = {choice.line: flow.fills[choice.line] for choice in choices}
    limits = {choice.source: flow.limits[choice.source] for choice in choices}
    return share_out(choices, fills, limits, SECONDS) or [flow.birds[place] for place in group]


def _groups(pool: Pool, flow: Flow) -> list[list[int]]:
    """Return the pairs of lines that get birds, in groups that share no part."""
    group_of: dict[int, int] = {}
    groups: dict[int, list[int]] = {}
    for line, fill in enumerate(flow.fills):
        if not fill:
            continue
        places = list(pool.by_line[line])
        for other in sorted({group_of[part] for part in _parts(pool, places) if part in group_of}):
            places += groups.pop(other)
        groups[line] = places
        group_of.update(dict.fromkeys(_parts(pool, places), line))
    return [sorted(places) for places in groups.values()]


def _parts(pool: Pool, places: list[int]) -> set[int]:
    return {pool.pairs[place].part for place in places}
