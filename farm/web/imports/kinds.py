"""The two tables that can be imported: which columns they have, which rows the service is given."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from farm.queries.outlook import Trial
from farm.services.actor import Actor
from farm.web.imports.columns import Column


@dataclass(frozen=True, slots=True)
class Kind:
    """One table: its columns, how a row's values become the service's row, and the two ways in.

    assumed: what a row's values leave open, as it will be saved; the preview shows it, so that nothing is taken for
    granted unseen. places: the service's names of fields that stand in another column.
    """

    key: str
    label: str
    columns: tuple[Column, ...]
    most_rows: int
    row: Callable[[dict[str, Any]], Any]
    save: Callable[[Actor, Sequence[Any]], Sequence[object]]
    try_out: Callable[[Actor, Sequence[Any]], Trial]
    assumed: Callable[[Mapping[str, Any]], dict[str, Any]]
    places: Mapping[str, str] = field(default_factory=dict)
