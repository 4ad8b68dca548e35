"""How many birds of one batch each of its stays holds on each day.

A batch's head count is the running sum of its ledger; its stays say where those birds live. Every day is
played in this order, and the order is what makes `sum(by_stay) + unhoused == alive` hold exactly:

1. stays that end on the day let their birds go (days are half-open);
2. the day's gains join the free birds;
3. stays that start take what they ask for, or their fair share when the free birds do not suffice;
4. a gain that names a room goes to the batch's stay there, as far as birds are still free;
5. losses: from the stay in the named room; for the rest from the free birds (38 of 40 move because 2 died),
   then spread over the day's stays by size: housed birds are the ones that need the room.

Free birds are unhoused. Lines of one day and room are summed first, so a correction that carries the day and
room of the line it reverses leaves no trace. No losses are assumed on days without a line: room is planned on
the safe side.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import numpy as np
import numpy.typing as npt

from farm.planning.window import Window

Counts = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Line:
    """One ledger line: `birds` came (+) or went (-) on `day`, in the housing `room` if that is known."""

    day: date
    birds: int
    room: str | None = None


@dataclass(frozen=True, slots=True)
class Stay:
    """`birds` of a batch in `room` over [start, end); end None is open. The key breaks ties."""

    key: str
    room: str
    start: date
    end: date | None
    birds: int


def alive(ledger: Iterable[Line], window: Window) -> Counts:
    """Return the birds alive at the end of each day of `window`, never below zero; shape (days,)."""
    change = np.zeros(window.days, dtype=np.int64)
    before = 0
    for line in ledger:
        index = window.index(line.day)
        if index < 0:
            before += line.birds
        elif index < window.days:
            change[index] += line.birds
    return np.maximum(before + np.cumsum(change), 0)


def by_stay(
    ledger: Sequence[Line], stays: Sequence[Stay], window: Window
) -> tuple[dict[str, Counts], Counts]:
    """Return the birds in each stay by its key, and the unhoused birds, by day of `window`; shapes (days,).

    A stay that begins before the batch's first arrival begins with that arrival. Raises ValueError when two
    stays share a key.
    """
    held = {stay.key: np.zeros(window.days, dtype=np.int64) for stay in stays}
    if len(held) != len(stays):
        raise ValueError("every stay of a batch needs a key of its own")
    unhoused = np.zeros(window.days, dtype=np.int64)
    for day, following, state in _states(ledger, stays):
        columns = window.clip(day, following)
        if columns is not None:
            unhoused[columns] = state.free
            for key, birds in state.held.items():
                held[key][columns] = birds
    return held, unhoused


def taken(ledger: Sequence[Line], stays: Sequence[Stay]) -> dict[str, int]:
    """Return, by stay key, the birds each stay really began with, fewer than it asks for if fewer were free.

    Losses of the first day itself are not yet off. A stay that ends before the first arrival took none.
    """
    began = dict.fromkeys((stay.key for stay in stays), 0)
    for _, _, state in _states(ledger, stays):
        began |= state.took
    return began


def shares(total: int, weights: Mapping[str, int]) -> dict[str, int]:
    """Split `total` by `weights` into whole birds, the largest remainders first, ties in key order.

    total: between 0 and the sum of the weights, so that no share exceeds its weight.
    """
    whole = sum(weights.values())
    if not whole:
        return dict.fromkeys(weights, 0)
    parts = {key: total * weight // whole for key, weight in weights.items()}
    by_remainder = sorted(weights, key=lambda key: (-(total * weights[key] % whole), key))
    for key in by_remainder[: total - sum(parts.values())]:
        parts[key] += 1
    return parts


class _State:
    """The birds of one batch on one day.

    held: by stay. took: by stay, on its first day. free: in no stay. owed: by a ledger that went below zero.
    """

    def __init__(self) -> None:
        self.held: dict[str, int] = {}
        self.took: dict[str, int] = {}
        self.free = 0
        self.owed = 0

    def let_go(self, key: str) -> None:
        self.free += self.held.pop(key, 0)

    def gain(self, birds: int) -> None:
        paid = min(birds, self.owed)
        self.owed -= paid
        self.free += birds - paid

    def take_in(self, wanted: Mapping[str, int]) -> None:
        fitting = min(self.free, sum(wanted.values()))
        got = shares(fitting, wanted)
        self.held.update(got)
        self.took.update(got)
        self.free -= fitting

    def settle(self, birds: int, keys: Sequence[str]) -> None:
        if keys:
            moved = min(birds, self.free)
            self.held[min(keys)] += moved
            self.free -= moved

    def lose(self, birds: int, keys: Sequence[str]) -> None:
        birds = self._lose_held(birds, keys)
        taken = min(birds, self.free)
        self.free -= taken
        self.owed += self._lose_held(birds - taken, tuple(self.held))

    def _lose_held(self, birds: int, keys: Sequence[str]) -> int:
        """Take birds from these stays in proportion and return how many more are still to be lost."""
        there = {key: self.held[key] for key in keys}
        taken = min(birds, sum(there.values()))
        for key, share in shares(taken, there).items():
            self.held[key] -= share
        return birds - taken


def _states(ledger: Sequence[Line], stays: Sequence[Stay]) -> Iterable[tuple[date, date | None, _State]]:
    """Play the batch's life; yield each state with the half-open days it holds for, the last one open.

    It is one state object that lives through all days: read it before asking for the next.
    """
    arrivals = [line.day for line in ledger if line.birds > 0]
    if not arrivals:
        return
    first = min(arrivals)
    lines: dict[date, dict[str | None, int]] = defaultdict(lambda: defaultdict(int))
    for line in ledger:
        lines[line.day][line.room] += line.birds
    lived = [(stay, max(stay.start, first)) for stay in stays if stay.end is None or stay.end > first]
    starts: dict[date, list[Stay]] = defaultdict(list)
    ends: dict[date, list[Stay]] = defaultdict(list)
    for stay, start in lived:
        if stay.end is None or stay.end > start:
            starts[start].append(stay)
            if stay.end is not None:
                ends[stay.end].append(stay)
    changes = sorted({*lines, *starts, *ends})
    rooms = {stay.key: stay.room for stay in stays}
    state = _State()
    for day, following in zip(changes, [*changes[1:], None], strict=True):
        _play(state, lines.get(day, {}), starts.get(day, ()), ends.get(day, ()), rooms)
        yield day, following, state


def _play(
    state: _State,
    nets: Mapping[str | None, int],
    starting: Iterable[Stay],
    ending: Iterable[Stay],
    rooms: Mapping[str, str],
) -> None:
    """Play one day on `state`, in the order of the module's docstring."""

    def within(room: str) -> list[str]:
        return [key for key in state.held if rooms[key] == room]

    for stay in ending:
        state.let_go(stay.key)
    for birds in nets.values():
        state.gain(max(birds, 0))
    state.take_in({stay.key: max(stay.birds, 0) for stay in starting})
    # Named rooms first: what is known of a day leaves less to be spread.
    known = sorted((room, birds) for room, birds in nets.items() if room is not None)
    for room, birds in known:
        state.settle(max(birds, 0), within(room))
    for room, birds in known:
        state.lose(max(-birds, 0), within(room))
    state.lose(max(-nets.get(None, 0), 0), ())
