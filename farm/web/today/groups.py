"""The lines of a round by the housing one stands in."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from farm.web.today.lines import Line


@dataclass(frozen=True, slots=True)
class Group:
    """The lines of one housing in one round.

    key: names it in the page. place: the name of the housing, "" for what belongs to none.
    """

    key: str
    place: str
    lines: Sequence[Line]

    @property
    def left(self) -> int:
        """Return how many lines are still to do."""
        return sum(line.mark is None for line in self.lines)

    @property
    def rest(self) -> list[Line]:
        """Return what may be ticked together: open, and not work for adults only, which is looked at singly."""
        return [
            line
            for line in self.lines
            if line.may and line.mark is None and line.item is not None and line.item.who != "adult"
        ]


def by_place(found: Iterable[Line], ending: str = "") -> list[Group]:
    """Return the lines by housing, in the order the housing first appears. ending: of the groups' keys."""
    groups: dict[tuple[str, str], list[Line]] = {}
    for line in found:
        item = line.item
        groups.setdefault((item.room or "", item.room_name) if item else ("", ""), []).append(line)
    return [
        Group(f"{own[0].round}-{room or 'none'}{ending}", place, own) for (room, place), own in groups.items()
    ]
