"""Room for eggs in the farm's machines, the proposal's own eggs counted.

Says what `machines.room` says, but keeps what it found for each machine by what stands in it: a search asks about the
same few eggs in the same machine over and over.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date, timedelta
from fractions import Fraction
from math import floor

from farm.planning.machines import EggLoad, Machine, Room
from farm.planning.machines.filling import stretches
from farm.planning.machines.judging import alone, together
from farm.planning.machines.records import HATCHER, SETTER, spells
from farm.planning.ordering.calendar import Day
from farm.planning.ordering.records import OrderKind

#: Which room a set goes to.
Fit = Callable[[Sequence[Room], int], Room | None]
#: What counts of a load in a machine: whether it is turned and hatches there, days, species, size, eggs.
Row = tuple[bool, bool, date, date, date, str, str, int]


class Racks:
    """The machines with every load in them; `put` and `take_out` are exact inverses."""

    def __init__(self, machines: Sequence[Machine], loads: Sequence[EggLoad]) -> None:
        self.machines = tuple(sorted(machines, key=lambda machine: machine.key))
        self.loads: dict[str, EggLoad] = {}
        self._inside: dict[str, dict[str, EggLoad]] = {machine.key: {} for machine in self.machines}
        cleaning = max((machine.cleaning_days for machine in machines), default=0)
        #: Loads further apart than this never meet, cleaning included.
        self.margin = timedelta(days=cleaning + 1)
        self._known: dict[tuple[str, bool, bool, str, str, date, tuple[Row, ...]], int] = {}
        for load in loads:
            self.put(load)

    def room(self, kind: OrderKind, day: Day) -> tuple[Room, ...]:
        """Return where eggs of a kind may be set for a hatch, most eggs first."""
        turned = [(machine, self._fits(machine, kind, day, True, False)) for machine in self.machines]
        hatched = [(machine, self._fits(machine, kind, day, False, True)) for machine in self.machines]
        found = [
            Room(one.key, other.key, min(first, last))
            for one, first in turned
            if first
            for other, last in hatched
            if last and one is not other
        ]
        for machine in self.machines:
            stays = self._fits(machine, kind, day, True, True)
            if stays:
                found.append(Room(machine.key, machine.key, stays))
        return tuple(sorted(found, key=lambda r: (-r.eggs, r.setter != r.hatcher, r.setter, r.hatcher)))

    def put(self, load: EggLoad) -> None:
        """Put eggs in. Raises ValueError for a machine that is not given."""
        if not {load.setter, load.hatcher} <= set(self._inside):
            raise ValueError(f"{load.name} is in a machine that is not given")
        self.loads[load.key] = load
        for machine in {load.setter, load.hatcher}:
            self._inside[machine][load.key] = load

    def take_out(self, load: EggLoad) -> None:
        """Take eggs out again."""
        del self.loads[load.key]
        for machine in {load.setter, load.hatcher}:
            del self._inside[machine][load.key]

    def _fits(self, machine: Machine, kind: OrderKind, day: Day, turned: bool, hatched: bool) -> int:
        """Return the most eggs one machine holds in the days they are turned, or hatch, in it, or both."""
        assert day.set_on is not None
        assert day.lockdown is not None
        idle = (turned and machine.does == HATCHER) or (hatched and machine.does == SETTER)
        if idle or not machine.capacity.get(kind.size):
            return 0
        first, last = day.set_on - self.margin, day.hatch_day + 2 * self.margin
        near = [
            load
            for load in self._inside[machine.key].values()
            if load.set_on <= last and load.hatch_day + self.margin >= first
        ]
        # Eggs come and go a lot in a search: what stands in the machine counts, not which lot it is.
        rows = sorted(_row(load, machine) for load in near)
        key = machine.key, turned, hatched, kind.species, kind.size, day.hatch_day, tuple(rows)
        if key not in self._known:
            here, other = machine.key, "elsewhere"
            mine = EggLoad(
                "mine", "", kind.species, kind.size, 1, here if turned else other, here if hatched else other,
                day.set_on, day.lockdown, day.hatch_day,
            )  # fmt: skip
            self._known[key] = _most(machine, mine, near)
        return self._known[key]


def _row(load: EggLoad, machine: Machine) -> Row:
    here = load.setter == machine.key, load.hatcher == machine.key
    return *here, load.set_on, load.lockdown, load.hatch_day, load.species, load.size, load.eggs


def _most(machine: Machine, mine: EggLoad, others: Sequence[EggLoad]) -> int:
    """Return the most eggs of `mine` a machine takes beside others without any conflict."""
    there, full = spells(others, machine.key), Fraction()
    own = spells((mine,), machine.key)
    for spell in own:
        if any(alone(machine, spell)) or any(c for each in there for c in together(machine, spell, each)):
            return 0
    for stretch in stretches(machine, there):
        if any(stretch.start < spell.end and spell.start < stretch.end for spell in own):
            full = max(full, stretch.share)
    return max(floor((1 - full) * machine.capacity[mine.size]), 0)


def best_fit(rooms: Sequence[Room], eggs: int) -> Room | None:
    """Return the smallest room that holds the eggs, so that larger ones stay free; None where none does."""
    able = [each for each in rooms if each.eggs >= eggs]
    return min(
        able,
        key=lambda each: (each.eggs, each.setter != each.hatcher, each.setter, each.hatcher),
        default=None,
    )


def loose_fit(rooms: Sequence[Room], eggs: int) -> Room | None:
    """Return the largest room that holds the eggs, so that others may join them; None where none does."""
    return rooms[0] if rooms and rooms[0].eggs >= eggs else None
