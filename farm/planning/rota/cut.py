"""Which people carry the most work for their part: those whose work nobody else can do, by a smallest cut (Dinic)."""

from __future__ import annotations

from collections import deque
from collections.abc import Mapping
from fractions import Fraction

#: Work of one kind: minutes by (people who can do it as bits, seats at once), each seat taking all the minutes.
Work = Mapping[tuple[int, int], int]


def only_theirs(work: Work, people: int) -> int:
    """Return the minutes that fall to these people (bits) even if everybody else does all they can."""
    return sum(
        minutes * max(0, seats - (can & ~people).bit_count()) for (can, seats), minutes in work.items()
    )


def heaviest(work: Work, weights: Mapping[int, int]) -> tuple[int, Fraction]:
    """Return the people (bits) with the most minutes only theirs for each unit of weight, and how many.

    weights: above 0, by bit, of everybody who can do any of the work.
    """
    found = sum(weights)
    while True:
        load = Fraction(only_theirs(work, found), _weight(weights, found))
        heavier = _heavier(work, weights, load)
        if not heavier or Fraction(only_theirs(work, heavier), _weight(weights, heavier)) <= load:
            return found, load
        found = heavier


def _weight(weights: Mapping[int, int], people: int) -> int:
    return sum(weight for bit, weight in weights.items() if bit & people)


def _heavier(work: Work, weights: Mapping[int, int], load: Fraction) -> int:
    """Return the people whose own work most exceeds `load` times their weight; none where nobody's does."""
    net = _Net(2 + len(work) + len(weights))
    at = {bit: 2 + len(work) + place for place, bit in enumerate(weights)}
    for node, ((can, seats), minutes) in enumerate(work.items(), 2):
        net.edge(0, node, seats * minutes * load.denominator)
        for bit, person in at.items():
            if bit & can:
                net.edge(node, person, minutes * load.denominator)
    for bit, person in at.items():
        net.edge(person, 1, weights[bit] * load.numerator)
    reached = net.fill()
    return sum(bit for bit, person in at.items() if reached[person] >= 0)


class _Net:
    """Whole flow from node 0 to node 1."""

    def __init__(self, nodes: int) -> None:
        self.out: list[list[int]] = [[] for _ in range(nodes)]
        self.to: list[int] = []
        self.room: list[int] = []

    def edge(self, start: int, end: int, room: int) -> None:
        for one, other, free in ((start, end, room), (end, start, 0)):
            self.out[one].append(len(self.to))
            self.to.append(other)
            self.room.append(free)

    def fill(self) -> list[int]:
        """Push all that fits and return each node's distance over edges with room left, -1 where none leads there."""
        while (level := self._levels())[1] >= 0:
            tried = [0] * len(self.out)
            while self._push(0, 1 << 200, level, tried):
                pass
        return level

    def _levels(self) -> list[int]:
        level = [-1] * len(self.out)
        level[0] = 0
        queue = deque([0])
        while queue:
            node = queue.popleft()
            for edge in self.out[node]:
                if self.room[edge] and level[self.to[edge]] < 0:
                    level[self.to[edge]] = level[node] + 1
                    queue.append(self.to[edge])
        return level

    def _push(self, node: int, most: int, level: list[int], tried: list[int]) -> int:
        if node == 1:
            return most
        while tried[node] < len(self.out[node]):
            edge = self.out[node][tried[node]]
            after = self.to[edge]
            if self.room[edge] and level[after] == level[node] + 1:
                pushed = self._push(after, min(most, self.room[edge]), level, tried)
                if pushed:
                    self.room[edge] -= pushed
                    self.room[edge ^ 1] += pushed
                    return pushed
            tried[node] += 1
        return 0
