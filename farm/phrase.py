"""Sentences before they have a language: the pure parts say what they mean, the faces say it in words.

`N_` marks a text for the translators' catalogue without translating it. `Quantity` keeps a number beside its SI unit
until the edge knows whether the farm reads metric or US customary.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType
from typing import Union


def N_(text: str) -> str:  # the name translators' tools look for
    """Return `text` unchanged; it marks the text for extraction."""
    return text


@dataclass(frozen=True, slots=True)
class Quantity:
    """A number in an SI unit: `m2`, `cm`, `degC`, `g`, `kg`, `l` or `delta_degC` (a difference, not a reading).

    bare: said without its unit, because the same one follows: the first number of "32 → 29 °C".
    """

    value: float
    unit: str
    digits: int = 1
    bare: bool = False

    def __str__(self) -> str:
        if self.bare:
            return f"{self.value:.{self.digits}f}"
        label = {"m2": "m²", "degC": "°C", "delta_degC": "°C", "l": "L"}.get(self.unit, self.unit)
        return f"{self.value:.{self.digits}f} {label}"


Value = Union[str, int, float, date, Quantity, "Phrase"]


@dataclass(frozen=True, slots=True)
class Phrase:
    """One translatable text with `%(name)s` fields and their values.

    plural and count: the text for a `count` other than 1; `count` names the value that is counted.
    `str(phrase)` is plain English in SI units, for tests, logs and the command line.
    """

    text: str
    values: Mapping[str, Value] = field(default_factory=lambda: MappingProxyType({}))
    plural: str = ""
    count: str = ""

    def __str__(self) -> str:
        text = self.plural if self.count and self.values[self.count] != 1 else self.text
        return text % {name: _plain(value) for name, value in self.values.items()} if self.values else text


def _plain(value: Value) -> str | int:
    if isinstance(value, int):  # stays a number: texts say %(birds)d
        return value
    if isinstance(value, date):
        return f"{value.day} {value:%B}"
    return f"{value:g}" if isinstance(value, float) else str(value)
