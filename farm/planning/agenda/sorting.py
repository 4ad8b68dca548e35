"""The order of an agenda: by due day, round, housing, title, source, and when it was first due."""

from __future__ import annotations

from collections.abc import Iterable

from farm.planning.agenda.records import ROUNDS, Item


def in_order(items: Iterable[Item]) -> tuple[Item, ...]:
    """Return the items in the order of their days, rounds, housings and titles."""
    place = {name: i for i, name in enumerate(ROUNDS)}
    said: dict[int, str] = {}  # titles are shared by many items: say each once

    def key(item: Item) -> tuple[int, int, str, str, str, int, int]:
        title = said.get(id(item.title))
        if title is None:
            title = said[id(item.title)] = str(item.title)
        first, round_ = item.first or (item.due, item.round)  # two of one source meet when one was put off
        return (
            *(item.due.toordinal(), place[item.round], item.room_name, title, item.source),
            *(first.toordinal(), place[round_]),
        )

    return tuple(sorted(items, key=key))
