"""What a sentence of quick entry says, before it is known which birds it is about. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from farm.phrase import Phrase


@dataclass(frozen=True, slots=True, kw_only=True)
class Sentence:
    """One understood sentence.

    verb: "count" (kind of count entry, birds), "move" (birds, None for all; to), "see" (kind of observation). value:
    in SI (°C, g, kg). day: as said, else today. batch, housing, to: keys of the farm's own names, None when not said.
    assumed: something was taken for granted (a unit), so it is shown before it is recorded.
    """

    verb: Literal["count", "move", "see"]
    kind: str
    day: date
    birds: int | None = None
    value: float | None = None
    word: str = ""
    note: str = ""
    batch: str | None = None
    housing: str | None = None
    to: str | None = None
    assumed: bool = False


@dataclass(frozen=True, slots=True)
class NotUnderstood:
    """Why a sentence was not understood, said so that the writer can mend it."""

    reason: Phrase
