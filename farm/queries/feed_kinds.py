"""The kinds of feed that the farm's programmes ask for, and who eats which."""

from __future__ import annotations

from farm.models import Feed, ProgrammeVersion
from farm.queries import programmes
from farm.trade import load
from farm.trade import species as species_table
from farm.trade.programme import Programme

#: A species and the name of a phase of its feeding: one species' starter is never another's.
Key = tuple[str, str]


def species() -> tuple[str, ...]:
    """Return the keys of the species that feed may be for."""
    return tuple(species_table.species())


def names(farm_id: int) -> list[str]:
    """Return the names of all phases, built-in and of the farm's own programmes, as they first appear."""
    found: dict[str, None] = {}
    for programme in _programmes(farm_id):
        found |= dict.fromkeys(phase.feed for phase in programme.feeds)
    return list(found)


def serves(feed: Feed, key: Key) -> bool:
    """Say whether a feed may be fed where a species is on a phase."""
    return key[0] in feed.species and key[1] == feed.kind


def _programmes(farm_id: int) -> list[Programme]:
    own = ProgrammeVersion.objects.filter(farm_id=farm_id, programme__edited=True)
    return [*load.programmes().values(), *(programmes.of_version(row) for row in own)]
