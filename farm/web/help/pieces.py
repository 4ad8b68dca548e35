"""What the help page shows that other parts know better: cautions with their sources, the columns of the tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from farm.models import Farm
from farm.trade.cautions import Caution, cautions
from farm.trade.sources import Source, sources
from farm.web.imports import batch_table, housing_table
from farm.web.imports.columns import Column


@dataclass(frozen=True, slots=True)
class Cited:
    """One part of a source note: a publication, or a label such as `common practice, no source`."""

    label: str
    source: Source | None

    @property
    def link(self) -> str:
        """Return the publication's address, "" while it has not been looked up."""
        if self.source is None or not self.source.confirmed or not self.source.address:
            return ""
        return f"https://{self.source.address}"


@dataclass(frozen=True, slots=True)
class Warned:
    """A caution and who says so."""

    caution: Caution
    cited: Sequence[Cited]


@dataclass(frozen=True, slots=True)
class Table:
    """One table that can be imported: its name and columns, those that must be there first."""

    label: str
    columns: Sequence[tuple[str, Column]]


def warned() -> list[Warned]:
    """Return every caution with its sources, in the tables' order."""
    return [Warned(caution, cited(caution.source)) for caution in cautions().values()]


def cited(note: str) -> list[Cited]:
    """Return the parts of a source note ("CWFIRE; common practice, no source")."""
    return [Cited(part, sources().get(part)) for part in note.split("; ")]


def tables(farm: Farm | None) -> list[Table]:
    """Return the tables that can be imported, their headers in the farm's units (metric without a farm)."""
    shown_for = farm or Farm()
    kinds = (housing_table.kind(shown_for), batch_table.kind(shown_for))
    return [
        Table(
            kind.label,
            [
                (column.header(shown_for.units), column)
                for column in sorted(kind.columns, key=lambda column: not column.required)
            ],
        )
        for kind in kinds
    ]
