"""The farm's own names inside a sentence: found first, so that "Pen 2" is a place and not two of something."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

#: Stand in for a name in the rest of the sentence; nobody can type them, they are taken out first.
HOUSING_MARK, BATCH_MARK = "\ue000", "\ue001"
_PLACE = re.compile(r"\b(?:in|into|to|from|at|of)\s+(?:the\s+)?$")


@dataclass(frozen=True, slots=True)
class Name:
    """A housing or batch by its key and what it is called."""

    key: str
    name: str
    housing: bool


@dataclass(frozen=True, slots=True)
class Marked:
    """A sentence in small letters, each name in it replaced by a mark; `names` by the order of the marks."""

    text: str
    names: tuple[Name, ...]


def mark(text: str, known: Iterable[Name]) -> Marked:
    """Replace the known names, longest first, as whole words in any spelling of capitals and spaces.

    A name without letters ("7") is one only after "in", "to", "from", "at" or "of".
    """
    rest = " ".join(text.casefold().replace(HOUSING_MARK, " ").replace(BATCH_MARK, " ").split())
    spans: list[tuple[int, int, Name]] = []
    for name in sorted(known, key=lambda one: (-len(one.name), one.key)):
        spelt = " ".join(name.name.casefold().split())
        if not spelt:
            continue
        bare = any(char.isalpha() for char in spelt)
        for found in re.finditer(rf"(?<!\w){re.escape(spelt)}(?!\w)", rest):
            start, stop = found.span()
            taken = any(start < other_stop and other_start < stop for other_start, other_stop, _ in spans)
            if not taken and (bare or _PLACE.search(rest[:start])):
                spans.append((start, stop, name))
    spans.sort(key=lambda span: span[0])
    pieces, at = [], 0
    for start, stop, name in spans:
        pieces += [rest[at:start], HOUSING_MARK if name.housing else BATCH_MARK]
        at = stop
    return Marked("".join([*pieces, rest[at:]]), tuple(name for _start, _stop, name in spans))
