"""How many birds of a part may be promised: what dies before it is given is set aside first.

Birds given on day i cost 1/S(i) of the birds there at the first hand-over day, S being the share alive. So much is
true: sum of x(i) / S(i) + held / S(last) <= birds. A flow needs limits that do not hang on itself, so losses are set
aside for the most birds that the lines served so far could leave in this part until each day. That never promises a
bird too many, and a line never loses one to lines ranked after it; it may promise a little less than could be, at
most the losses between the first and the last hand-over.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import accumulate

from farm.planning.allotments.pool import Part, Pool

#: Means are sums of chances: a whole bird may come out a hair below one.
HAIR = 1e-9


def limits(part: Part, fills: Sequence[int]) -> list[int]:
    """Return, by hand-over day, the most birds that may be given on that day or a later one; shape (days,).

    fills: by day, birds of the lines served so far that could come from this part on it; shape (days,).
    """
    whole = [max(math.floor(alive + HAIR) - part.held, 0) for alive in part.alive]
    last = max((bucket for bucket, birds in enumerate(fills) if birds), default=0)
    if not whole or not last or not part.alive[last]:
        return whole
    later = list(accumulate(reversed(fills)))[::-1]
    cost = [part.alive[0] / alive for alive in part.alive[: last + 1]]
    aside = part.held * cost[last]
    for bucket in range(1, last + 1):
        kept = min(max(part.alive[bucket] - part.held, 0.0), later[bucket])
        aside += (cost[bucket] - cost[bucket - 1]) * kept
    # All of them would still be there if none were given before the last day: that many are safe whatever is set aside.
    first = max(math.floor(part.alive[0] - aside + HAIR), whole[last])
    return [min(first, whole[0]), *whole[1:]]


def fills_by_day(pool: Pool, part: int, fills: Sequence[int]) -> list[int]:
    """Return what `limits` asks for. fills: birds by line."""
    found = [0] * len(pool.parts[part].days)
    for place in pool.by_part[part]:
        pair = pool.pairs[place]
        found[pair.bucket] += fills[pair.line]
    return found
