"""Whole birds flowing from lines over hand-over days to the parts of batches, by shortest augmenting paths.

A part's days form a chain: what is given on a day passes through every earlier one, where the limit of birds given
on that day or later holds; so the limits are nested, and whole flows are as good as any.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping

from farm.planning.allotments.pool import Pool

#: How a node was reached: by giving on a pair, giving back on one, or along a part's days.
_Step = tuple[int, int, int]


class Network:
    """birds: by pair. loads: by part and bucket, birds given on that day or later. limits: the most of those."""

    def __init__(self, pool: Pool, limits: list[list[int]]) -> None:
        self.pool, self.limits = pool, limits
        self.birds = [0] * len(pool.pairs)
        self.loads = [[0] * len(part.days) for part in pool.parts]

    def copy(self) -> Network:
        """Return a network that may be changed without changing this one."""
        other = Network.__new__(Network)
        other.pool, other.birds = self.pool, self.birds.copy()
        other.limits, other.loads = [*self.limits], [load.copy() for load in self.loads]
        return other

    def give(self, line: int, birds: int) -> int:
        """Find up to so many more birds for a line, others keeping as many as they have; return how many were found."""
        found = 0
        while found < birds and (path := self._path(line)):
            found += self._push(path, birds - found)
        return found

    def tighten(self, limits: Mapping[int, list[int]]) -> dict[int, int]:
        """Set new limits of parts, take back what is beyond them, and return the birds each line lost."""
        lost: dict[int, int] = {}
        for part, limit in limits.items():
            self.limits[part] = limit
            for bucket, most in enumerate(limit):
                for place in reversed(self.pool.by_part[part]):
                    over = self.loads[part][bucket] - most
                    if over <= 0:
                        break
                    pair = self.pool.pairs[place]
                    birds = min(over, self.birds[place]) if pair.bucket >= bucket else 0
                    if birds:
                        self._add(place, -birds)
                        lost[pair.line] = lost.get(pair.line, 0) + birds
        return lost

    def _add(self, place: int, birds: int) -> None:
        pair = self.pool.pairs[place]
        self.birds[place] += birds
        load = self.loads[pair.part]
        for bucket in range(pair.bucket + 1):
            load[bucket] += birds

    def _path(self, start: int) -> list[_Step]:
        """Return the steps of a shortest way from a line to free birds, empty where there is none.

        A step is (pair, 1 or -1, room) for giving on a pair or taking back from one, or (-1, 0, room) between days.
        """
        pool, lines = self.pool, {start}
        came: dict[tuple[int, int], tuple[tuple[int, int], _Step]] = {}
        queue = deque([(-1, start)])
        while queue:
            node = queue.popleft()
            part, at = node
            if part < 0:
                for place in pool.by_line[at]:
                    pair = pool.pairs[place]
                    self._reach(came, queue, (pair.part, pair.bucket), node, (place, 1, 1 << 60))
                continue
            load, limit = self.loads[part], self.limits[part]
            if not at and limit[0] > load[0]:
                return self._back(came, node, start, limit[0] - load[0])
            if at and limit[at] > load[at]:
                self._reach(came, queue, (part, at - 1), node, (-1, 0, limit[at] - load[at]))
            if at + 1 < len(load) and load[at + 1]:
                self._reach(came, queue, (part, at + 1), node, (-1, 0, load[at + 1]))
            for place in pool.by_part[part]:
                pair = pool.pairs[place]
                if pair.bucket == at and self.birds[place] and pair.line not in lines:
                    lines.add(pair.line)
                    self._reach(came, queue, (-1, pair.line), node, (place, -1, self.birds[place]))
        return []

    @staticmethod
    def _reach(
        came: dict[tuple[int, int], tuple[tuple[int, int], _Step]],
        queue: deque[tuple[int, int]],
        node: tuple[int, int],
        before: tuple[int, int],
        step: _Step,
    ) -> None:
        if node not in came:
            came[node] = (before, step)
            queue.append(node)

    @staticmethod
    def _back(
        came: Mapping[tuple[int, int], tuple[tuple[int, int], _Step]],
        node: tuple[int, int],
        start: int,
        free: int,
    ) -> list[_Step]:
        steps: list[_Step] = [(-1, 0, free)]
        while node != (-1, start):
            node, step = came[node]
            steps.append(step)
        return steps

    def _push(self, path: list[_Step], most: int) -> int:
        birds = min(most, *(room for _, _, room in path))
        for place, sign, _ in path:
            if sign:
                self._add(place, sign * birds)
        return birds
