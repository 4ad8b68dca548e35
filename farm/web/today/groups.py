"""The lines of a round by the housing or machine one stands before."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from farm.web.today.lines import Line, name_in_page

_MACHINE = "machine:"  # how the agenda begins the key of a machine


@dataclass(frozen=True, slots=True)
class Group:
    """The lines of one housing or machine in one round.

    key: names it in the page. place: the name of the housing or machine, "" for what belongs to none. machine: it is
    one for eggs.
    """

    key: str
    place: str
    lines: Sequence[Line]
    machine: bool = False

    @property
    def left(self) -> int:
        """Return how many lines are still to do."""
        return sum(line.mark is None for line in self.lines)

    @property
    def rest(self) -> list[Line]:
        """Return what may be ticked together: open, and neither work for adults only, which is looked at singly, nor
        what asks for a note or a picture."""
        return [
            line
            for line in self.lines
            if line.may
            and line.mark is None
            and line.item is not None
            and line.item.who != "adult"
            and not line.asks
        ]


def by_place(found: Iterable[Line], ending: str = "") -> list[Group]:
    """Return the lines by place, in the order the places first appear. ending: of the groups' keys."""
    groups: dict[tuple[str, str], list[Line]] = {}
    for line in found:
        item = line.item
        groups.setdefault((item.room or "", item.room_name) if item else ("", ""), []).append(line)
    return [
        Group(
            key=name_in_page(f"{own[0].round}-{room or 'none'}{ending}"),
            place=place,
            lines=own,
            machine=room.startswith(_MACHINE),
        )
        for (room, place), own in groups.items()
    ]
