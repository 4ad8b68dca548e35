"""The judge of rest days: how long a room must stand clean and empty between two different batches."""

from __future__ import annotations

from collections.abc import Iterator

from farm.planning.breach import Breach, runs
from farm.planning.company import Apart
from farm.planning.indoors import Indoors


def too_soon(inside: Indoors, apart: Apart) -> Iterator[Breach]:
    """Yield where a batch moves in before the rest days since another batch's leaving are over.

    The days at fault are those the newcomer is inside before the rest is over. A batch that comes back to its
    own room needs no rest after itself; batches that overlap share the room, which the judges of company look
    at. `groups` is the newcomer, then the batch whose rest lasts longest; `short` the rest days missing from
    `start` on.
    """
    visits = {key: _visits(inside, key) for key in inside.birds}
    for key, own in visits.items():
        for moved_in, moved_out in own:
            owed = [
                (out + _rest_days(inside, key, other, apart), other)
                for other, theirs in visits.items()
                if other != key
                for _, out in theirs
                if out <= moved_in
            ]
            ready, other = max(owed, default=(moved_in, ""))
            if ready > moved_in:
                yield from _breach(inside, (key, other), moved_in, min(moved_out, ready), ready)


def _rest_days(inside: Indoors, key: str, other: str, apart: Apart) -> int:
    """Return the room's rest days, or the longer ones between two species on one ground outdoors."""
    if inside.room.indoor:
        return inside.room.rest_days
    rule = apart(inside.groups[key].species, inside.groups[other].species, False)
    return max(inside.room.rest_days, int(getattr(rule, "rest_days", 0)))


def _breach(
    inside: Indoors, groups: tuple[str, str], moved_in: int, stop: int, ready: int
) -> Iterator[Breach]:
    columns = inside.window.clip(inside.window.day(moved_in), inside.window.day(stop))
    if columns is None:
        return
    first = inside.window.day(columns.start)
    yield Breach(
        kind="rest",
        room=inside.room.key,
        groups=groups,
        start=first,
        end=inside.window.day(columns.stop),
        worst=first,
        short=float(ready - columns.start),
        birds=int(inside.birds[groups[0]][columns.start]),
    )


def _visits(inside: Indoors, key: str) -> list[tuple[int, int]]:
    """Return the half-open columns a batch was in the room without a gap, before the window too.

    Of stays that began before the window only the dates are known: they are taken to have held birds from
    their start.
    """
    window = inside.window
    earlier = []
    for part in inside.parts:
        if part.group == key and part.start < window.start:
            start, end = window.index(part.start), window.days if part.end is None else window.index(part.end)
            # A stay that reaches into the window empty of birds had lost them before it: when is not known.
            if end <= 0 or part.birds[0]:
                earlier.append((start, min(end, 0)))
    joined: list[tuple[int, int]] = []
    for start, end in sorted([*earlier, *runs(inside.birds[key] > 0)]):
        if joined and start <= joined[-1][1]:
            joined[-1] = (joined[-1][0], max(end, joined[-1][1]))
        else:
            joined.append((start, end))
    return joined
