"""Every text of the tables that a page shows, so that translators' tools can gather what no Python file spells out."""

from __future__ import annotations

from collections.abc import Iterator

from farm.trade.behaviours import behaviours
from farm.trade.cautions import cautions
from farm.trade.chores import chores
from farm.trade.load import programmes
from farm.trade.mixing import mixing
from farm.trade.species import species


def texts() -> Iterator[tuple[str, str]]:
    """Yield (place, text) for each text of the built-in tables; places read like `chores: bedding.title`."""
    for key, chore in chores().items():
        for field in ("title", "when", "why"):
            yield f"chores: {key}.{field}", getattr(chore, field)
        yield from ((f"chores: {key}.checklist", line) for line in chore.checklist)
    for key, caution in cautions().items():
        yield from ((f"cautions: {key}.title", caution.title), (f"cautions: {key}.text", caution.text))
    for key, behaviour in behaviours().items():
        yield from (
            (f"behaviours: {key}.seen", behaviour.seen),
            (f"behaviours: {key}.advice", behaviour.advice),
        )
    yield from _mixing_texts()
    yield from _names()


def _mixing_texts() -> Iterator[tuple[str, str]]:
    rules = mixing()
    yield from ((f"mixing: {pair.key}", pair.text) for pair in rules.pairs)
    yield "mixing: single_species", rules.single_species[0]
    yield "mixing: age_gap", rules.age_gap.text
    yield "mixing: isolation", rules.isolation[1]
    yield "mixing: into_hens", rules.into_hens.text


def _names() -> Iterator[tuple[str, str]]:
    for key, kind in species().items():
        yield from ((f"species: {key}.name", kind.name), (f"species: {key}.plural", kind.plural))
        for name, each in kind.types.items():
            for field in ("name", "young", "young_plural"):
                yield f"species: {key}.types.{name}.{field}", getattr(each, field)
    for key, programme in programmes().items():
        yield f"programmes: {key}.name", programme.name
        yield from ((f"programmes: {key}.feeds", phase.feed) for phase in programme.feeds)
