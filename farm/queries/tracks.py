"""A batch's stays as the planner knows a batch: parts that live together, each a chain of stays.

Stays say how many birds are where; the planner follows the same birds from place to place. Where one stay ends and
others begin, birds that fit together in number are taken to stay together.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from farm.planning import heads
from farm.planning.solution import PlanStay
from farm.planning.window import Window

#: In no stay at all.
NOWHERE = None


@dataclass(eq=False)
class Track:
    """`birds` that are together on every day. been: (stay key or None, first day), in order."""

    birds: int
    been: list[tuple[str | None, date]] = field(default_factory=list)

    @property
    def now(self) -> str | None:
        """Return the stay they are in last."""
        return self.been[-1][0]

    def split(self, birds: int) -> Track:
        """Take `birds` out of this track into a new one with the same past."""
        self.birds -= birds
        return Track(birds, list(self.been))

    def chain(self, rooms: Mapping[str, str], end: date) -> tuple[PlanStay, ...]:
        """Return the stays by housing until `end`, without a gap and none after another in the same housing."""
        found: list[PlanStay] = []
        stops = [start for _key, start in self.been[1:]] + [end]
        for (key, start), stop in zip(self.been, stops, strict=True):
            room = None if key is None else rooms[key]
            if found and found[-1].housing == room:
                start = found.pop().start
            if start < stop:
                found.append(PlanStay(room, start, stop))
        return tuple(found)


def tracks(
    ledger: Sequence[heads.Line], stays: Sequence[heads.Stay], first: date, end: date
) -> tuple[Track, ...]:
    """Return the tracks of a batch's birds over [first, end), the first the largest, then by their first stay.

    Only birds there on `first` are followed; later losses and gains of the ledger are not: the future has none.
    """
    window = Window(first, max((end - first).days, 1))
    held, free = heads.by_stay([line for line in ledger if line.day <= first], stays, window)
    days = {first} | {day for stay in stays for day in (stay.start, stay.end) if day and first < day < end}
    found: list[Track] = []
    for day in sorted(days):
        column = window.index(day)
        there: dict[str | None, int] = {key: int(birds[column]) for key, birds in held.items()}
        there[NOWHERE] = int(free[column])
        _step(found, {key: birds for key, birds in there.items() if birds}, day)
    return tuple(sorted(found, key=_place))


def _place(track: Track) -> tuple[int, list[tuple[str, date]]]:
    """Return what tracks are ordered by: the most birds first, then where they have been; nowhere comes last."""
    return -track.birds, [(stay or "~", day) for stay, day in track.been]


def _step(found: list[Track], there: dict[str | None, int], day: date) -> None:
    """Bring the tracks to where the birds are on `day`."""
    if not found:
        found += [Track(birds, [(key, day)]) for key, birds in sorted(there.items(), key=_by_key)]
        return
    lacking = dict(there)
    leaving: list[Track] = []
    for track in list(found):
        kept = min(track.birds, lacking.get(track.now, 0))
        if kept < track.birds:
            leaving.append(track if not kept else track.split(track.birds - kept))
        if kept:
            lacking[track.now] -= kept
    found += [track for track in leaving if track not in found]
    _settle(found, leaving, {key: birds for key, birds in lacking.items() if birds}, day)


def _settle(found: list[Track], leaving: list[Track], lacking: dict[str | None, int], day: date) -> None:
    """Put the leaving tracks into the stays that lack birds: those of equal number first, then the largest."""
    for key, birds in sorted(lacking.items(), key=_by_key):
        same = next((track for track in leaving if track.birds == birds), None)
        if same is not None:
            leaving.remove(same)
            same.been.append((key, day))
            del lacking[key]
    for key, birds in sorted(lacking.items(), key=lambda item: (-item[1], _by_key(item))):
        while birds:
            track = max(leaving, key=lambda one: one.birds)
            leaving.remove(track)
            if track.birds > birds:
                rest = track.split(track.birds - birds)
                found.append(rest)
                leaving.append(rest)
            birds -= track.birds
            track.been.append((key, day))


def _by_key(item: tuple[str | None, int]) -> str:
    return item[0] or "~"
