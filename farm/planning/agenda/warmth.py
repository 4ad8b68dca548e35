"""Where heat equipment is on: whoever works there works beside it, whatever the work is."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace

from farm.planning.agenda import heat
from farm.planning.agenda.homes import Homes
from farm.planning.agenda.records import Item


def marked(items: Iterable[Item], homes: Homes) -> Iterator[Item]:
    """Yield the items, with `heated` set on those in heated housing that has birds that still need heat."""
    known: dict[tuple[str | None, int], bool] = {}
    for item in items:
        place = item.room, item.due.toordinal()
        if place not in known:
            known[place] = _warmed(item, homes)
        yield replace(item, heated=True) if known[place] and not item.heated else item


def _warmed(item: Item, homes: Homes) -> bool:
    return any(
        stay.heated
        and homes.holds(stay, item.due)
        and heat.needed(batch.programme, (item.due - batch.hatch_day).days)
        for stay in homes.by_room.get(item.room or "", ())
        if (batch := homes.batches[stay.batch])
    )
