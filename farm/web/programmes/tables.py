"""A programme as tables, every number with who says so; and two programmes as the list of what differs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from django.utils.translation import gettext as _

from farm import units
from farm.trade.programme import Programme
from farm.web.programmes.citing import Citation, cite
from farm.web.programmes.labels import CURVE_MEASURES, PROTEIN, RULE_MEASURES, age


@dataclass(frozen=True, slots=True)
class ShownRow:
    """One number: its day of age (None for a rule), its words, itself as stored, and its sources."""

    day: int | None
    age: str
    label: str
    value: str
    raw: float
    sources: tuple[Citation, ...]


@dataclass(frozen=True, slots=True)
class ShownTable:
    """One table of numbers."""

    key: str
    title: str
    rows: tuple[ShownRow, ...]


@dataclass(frozen=True, slots=True)
class Difference:
    """One number that differs: where, and what it was and will be ("" for nothing)."""

    label: str
    before: str
    after: str


def curve_tables(programme: Programme, system: str) -> list[ShownTable]:
    """Return the tables by age."""
    found = []
    for name, knots in programme.curves.items():
        measure = CURVE_MEASURES[name]
        rows = (
            ShownRow(
                knot.day,
                age(knot.day),
                "",
                measure.shown(knot.value, system),
                knot.value,
                _cited(knot.source),
            )
            for knot in knots
        )
        found.append(ShownTable(name, _(measure.label), tuple(rows)))
    return found


def feed_table(programme: Programme) -> ShownTable:
    """Return the feeds by age, with their protein."""
    rows = (
        ShownRow(
            phase.day,
            age(phase.day),
            _(phase.feed),
            PROTEIN.shown(phase.protein_g_per_kg, units.METRIC),
            phase.protein_g_per_kg,
            _cited(phase.source),
        )
        for phase in programme.feeds
    )
    return ShownTable("feeds", _("Feeds"), tuple(rows))


def rule_table(programme: Programme, system: str) -> ShownTable:
    """Return the single numbers."""
    rows = (
        ShownRow(
            None,
            "",
            _(RULE_MEASURES[name].label),
            RULE_MEASURES[name].shown(rule.value, system),
            rule.value,
            _cited(rule.source),
        )
        for name, rule in programme.rules.items()
    )
    return ShownTable("rules", _("Single figures"), tuple(rows))


def differences(old: Programme, new: Programme, system: str) -> list[Difference]:
    """Return every number whose value, feed or source differs, table by table."""
    was, will = dict(_numbers(old, system)), dict(_numbers(new, system))
    return [
        Difference(where, was.get(where, _NONE)[0], will.get(where, _NONE)[0])
        for where in [*was, *(where for where in will if where not in was)]
        if was.get(where) != will.get(where)
    ]


_NONE = ("", 0.0)


def _numbers(programme: Programme, system: str) -> Iterator[tuple[str, tuple[str, float]]]:
    """Yield each number as where it stands, and what it says beside itself."""
    for table in (*curve_tables(programme, system), feed_table(programme), rule_table(programme, system)):
        for row in table.rows:
            sources = "; ".join(one.text for one in row.sources)
            if row.day is None:
                yield row.label, (f"{row.value} ({sources})", row.raw)
                continue
            where = _("%(table)s, day %(day)d") % {"table": table.title, "day": row.day}
            feed = f"{row.label}, " if row.label else ""
            yield where, (f"{feed}{row.value} ({sources})", row.raw)


def _cited(source: str) -> tuple[Citation, ...]:
    return tuple(cite(source))
