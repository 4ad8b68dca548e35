"""The best way through the farm for one part, everyone else staying where they are: exact, by dynamic programming.

With C the cost of every (row, stretch), the best way to be free to leave row u at bound g is

    V(u, g) = min( V(u, g - 1) + C(u, g - 1),                          staying on
                   entered at h: best(h) + move(h) + C(u, h .. g) )    for the h whose stay is ripe at g
    best(g) = min over u of V(u, g), where leaving u at g is allowed

because a move costs the same whatever the pair. Beside a pin even a stay that is not ripe may end, on just that day:
it adds to best(g), not to V(u, g). And who leaves u there does not come back to u: that were the same stay, and its
days count from its beginning. Values are kept less the cost of the row up to the bound (prefix sums), so staying on
costs nothing to write down. Forbidden cells cost `BLOCKED`, more than any plan; sums stay exact.
"""

from __future__ import annotations

from collections.abc import Sequence
from operator import add
from typing import NamedTuple

import numpy as np

from farm.planning.ground import BLOCKED
from farm.planning.lanes import NOWHERE, Lane
from farm.planning.loads import Ints
from farm.planning.state import State

#: A value no way reaches.
NEVER = 1 << 60


class Leg(NamedTuple):
    """A stretch of a way: the row of a housing, or NOWHERE, over columns [start, end)."""

    row: int
    start: int
    end: int


class Way(NamedTuple):
    """A part's chain of legs and what it adds to the plan's cost."""

    cost: int
    legs: tuple[Leg, ...]


class Costs(NamedTuple):
    """Matrices of one insertion: by (row, stretch), and what entering and leaving each (row, bound) is blocked by."""

    cells: Ints
    enter: Ints
    leave: Ints


def costs(state: State, lane: Lane, loads: Sequence[Ints], cold: Ints) -> Costs:
    """Return the cost matrices of a lane now. loads: by resource over the lane's columns; cold: birds needing heat."""
    weights, spare, cells = state.ground.weights, state.spare, lane.cells
    each = state.flat_crowd.take(cells)
    for at, (resource, asked) in enumerate(zip(state.ground.resources, loads, strict=True)):
        wanted = asked.take(lane.offset)
        short = wanted - np.minimum(state.flat_room[at].take(cells), wanted)
        each += short * resource.weight
        if at == 0 and spare:
            slack = state.flat_slack.take(cells)
            each += ((slack >= 0) & (slack < wanted)) * spare
    if state.ruled:
        barred = state.flat_low.take(lane.in_class) > lane.hatch
        barred |= state.flat_high.take(lane.in_class) < lane.hatch
        if lane.exempt is not None:
            barred &= ~lane.exempt
        each += barred * BLOCKED
    table = lane.blank.copy()
    stretches = lane.bounds[:-1] - lane.bounds[0]
    if len(cells):
        table.reshape(-1)[lane.at] += np.add.reduceat(each, lane.starts)
    table[-1] += np.add.reduceat(loads[0], stretches) * weights.nowhere
    if lane.chill:
        chilled = np.add.reduceat(cold, stretches) * weights.cold
        for row, stretch in lane.chill:
            table[row, stretch] += chilled[stretch]
    return Costs(table, *_gates(state, lane))


def _gates(state: State, lane: Lane) -> tuple[Ints, Ints]:
    shape = (len(lane.rows) + 1, len(lane.bounds))
    enter, leave = np.zeros(shape, dtype=np.int64), np.zeros(shape, dtype=np.int64)
    enter[:-1] = (state.flat_entry.take(lane.gates) > 0) * BLOCKED
    leave[:-1] = (state.flat_exit.take(lane.gates) > 0) * BLOCKED
    if not lane.leaves:
        leave[:, -1] = 0
    for row, bound in lane.free_in:
        enter[row, bound] = 0
    for row, bound in lane.free_out:
        leave[row, bound] = 0
    return enter, leave


class Shun(NamedTuple):
    """A row of a lane to keep out of over stretches [first, stop), if at all possible: how a repair leaves a rut."""

    row: int
    first: int
    stop: int


#: Dearer than any shortage of one batch, cheaper than what is forbidden.
SHUNNED = BLOCKED >> 10


def best(state: State, lane: Lane, loads: Sequence[Ints], cold: Ints, shun: Shun | None = None) -> Way:
    """Return the cheapest way of a lane, among equals the one that moves latest, then to the first row.

    shun: its price is not in the cost returned by `Draft`, which counts the legs anew.
    """
    found = costs(state, lane, loads, cold)
    if shun is not None:
        found.cells[shun.row, shun.first : shun.stop] += SHUNNED
    # Rows nobody can be in now only cost time.
    rows = np.flatnonzero(found.cells.min(axis=1, initial=BLOCKED) < BLOCKED)
    sums = np.zeros((len(rows), found.enter.shape[1]), dtype=np.int64)
    np.cumsum(found.cells[rows], axis=1, out=sums[:, 1:])
    into = (found.enter[rows] - sums).T.tolist()
    out = (found.leave[rows] + sums).T.tolist()
    return _Walk(lane, rows.tolist(), into, out).way()


class _Walk:
    """The recurrence over the rows that count. into, out: by bound and row, entering less and leaving plus costs."""

    def __init__(self, lane: Lane, rows: list[int], into: list[list[int]], out: list[list[int]]) -> None:
        self.lane, self.into, self.out = lane, into, out
        self.last = len(into) - 1
        names = [*lane.rows.tolist(), NOWHERE]
        self.local, self.names = rows, [names[row] for row in rows]
        self.nowhere = self.names[-1] == NOWHERE
        self.here = rows.index(lane.since[0]) if lane.since is not None and lane.since[0] in rows else -1
        #: What being free to leave some row at each bound costs, the move included; and the row it is.
        self.lows, self.before = [0] * (self.last + 1), [0] * (self.last + 1)
        #: Beside a pin, the row to come from for those who enter the row best left.
        self.other: dict[int, int] = {}
        self.into[0] = self._begin()
        self.free: list[list[int]] = []

    def way(self) -> Way:
        lane, last, lows, into, out = self.lane, self.last, self.lows, self.into, self.out
        ripe, prices = lane.ripe, lane.prices
        free = [NEVER] * len(self.names)
        ripening: list[list[int]] = [[] for _ in range(last + 2)]
        ripening[ripe[0]].append(0)
        for bound in range(last + 1):
            free = self._at_once(free, bound)
            for begun in ripening[bound]:
                low = lows[begun]
                free = [
                    old if old <= low + enter else low + enter
                    for old, enter in zip(free, into[begun], strict=True)
                ]
            ending = self._beside_a_pin(free, bound) if bound in lane.gaps else free
            self.free.append(ending)
            ends = list(map(add, ending, out[bound]))
            cost = min(ends)
            self.before[bound] = ends.index(cost)
            if 0 < bound < last:
                lows[bound] = cost + prices[bound]
                ripening[ripe[bound]].append(bound)
                if bound in lane.gaps:
                    self._come_from_elsewhere(bound, ends)
        return Way(cost + lane.constant, self._trace(self.before[last]))

    def _at_once(self, free: list[int], bound: int) -> list[int]:
        """Let go what need not ripen: waiting for a place may end at any time, a stay begun long ago on its day."""
        lane = self.lane
        if bound and lane.ripe[bound - 1] != bound and self.nowhere:
            free = [*free[:-1], min(free[-1], self.lows[bound - 1] + self.into[bound - 1][-1])]
        if self.here >= 0 and lane.since is not None and lane.since[1] == bound:
            staying = min(free[self.here], self.into[0][self.here])
            free = [*free[: self.here], staying, *free[self.here + 1 :]]
        return free

    def _beside_a_pin(self, free: list[int], bound: int) -> list[int]:
        """Return what leaving each row costs where stays that are not ripe may end as well."""
        for begun in range(bound):
            if self.lane.ripe[begun] > bound:
                low = self.lows[begun]
                free = [min(old, low + enter) for old, enter in zip(free, self.into[begun], strict=True)]
        return free

    def _come_from_elsewhere(self, bound: int, ends: list[int]) -> None:
        """Let nobody leave a row and enter it again: the stay would go on, and its days count from its beginning."""
        row = self.before[bound]
        others = [at for at in range(len(ends)) if at != row]
        if not others:
            self.into[bound][row] += NEVER
            return
        self.other[bound] = min(others, key=ends.__getitem__)
        self.into[bound][row] += ends[self.other[bound]] - ends[row]

    def _begin(self) -> list[int]:
        """Return the cost of beginning in each row: nothing on arrival, a move from where the birds are now."""
        if self.lane.since is None:
            return self.into[0]
        price = self.lane.prices[0]
        return [cost + (0 if row == self.here else price) for row, cost in enumerate(self.into[0])]

    def _trace(self, row: int) -> tuple[Leg, ...]:
        """Follow the choices back from the end: each value names the bound its stay was begun at."""
        bounds, bound, legs = self.lane.bounds.tolist(), self.last, []
        while True:
            value = self.free[bound][row]
            start = next(
                at
                for at in range(bound)
                if self.lows[at] + self.into[at][row] == value
                and self.lane.may_end(self.local[row], at, bound)
            )
            legs.append(Leg(self.names[row], bounds[start], bounds[bound]))
            if start == 0:
                return tuple(reversed(legs))
            back = row == self.before[start] and start in self.other
            row, bound = self.other[start] if back else self.before[start], start


def price(state: State, lane: Lane, legs: Sequence[Leg], loads: Sequence[Ints], cold: Ints) -> int:
    """Return what a given way adds, BLOCKED or more where it is not allowed or not on the lane's bounds."""
    found = costs(state, lane, loads, cold)
    at, local = lane.bound_of, lane.row_of
    total, here = lane.constant, None if lane.since is None else lane.since[0]
    for leg in legs:
        if leg.row not in local or leg.start not in at or leg.end not in at:
            return BLOCKED
        row, start, end = local[leg.row], at[leg.start], at[leg.end]
        total += int(found.cells[row, start:end].sum()) + int(found.leave[row, end])
        if here is None:
            total += int(found.enter[row, start])
        elif here != row:
            total += int(found.enter[row, start]) + lane.prices[start]
        here = row
    return total
