"""Who says so: the publications behind the numbers, and the check that a number names one of them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType

from farm.phrase import N_
from farm.trade.programme import JUDGEMENT, NO_SOURCE, OWN
from farm.trade.reading import Problem, Reader, TableError, read


@dataclass(frozen=True, slots=True)
class Source:
    """A publication.

    address: without scheme (all are https), None for print. confirmed: False until year and address have been
    looked up; such an address is not shown as a link. reprint: the figure was taken from an abstract or a
    reprint.
    """

    key: str
    publisher: str
    title: str
    year: int | None
    address: str | None
    confirmed: bool
    reprint: bool


@cache
def sources() -> Mapping[str, Source]:
    """Return every source by its key."""
    problems: list[Problem] = []
    found = {key: _source(key, row, problems) for key, row in read("sources.toml").items()}
    if problems:
        raise TableError(problems)
    return MappingProxyType(found)


def _source(key: str, row: object, problems: list[Problem]) -> Source:
    reader = Reader(row, f"sources.toml: {key}", problems)
    source = Source(
        key=key,
        publisher=reader.text("publisher", default=""),
        title=reader.text("title"),
        year=reader.optional_whole("year", 1900, 2100),
        address=reader.text("address", default="") or None,
        confirmed=bool(reader.take("confirmed", True)),
        reprint=bool(reader.take("reprint", False)),
    )
    reader.done()
    return source


def is_known(text: str, own: bool = False) -> bool:
    """Return whether `text` is one label or a source key, or several of them parted by `; `.

    own: also accept the label of a keeper's own figure.
    """
    labels = {NO_SOURCE, JUDGEMENT} | ({OWN} if own else set())
    return all(part in labels or part in sources() for part in text.split("; "))


def take_source(reader: Reader, own: bool = False, name: str = "source") -> str:
    """Return a row's source; a missing or unknown one is a problem at that field."""
    text = reader.take(name)
    if not isinstance(text, str) or not text:
        reader.wrong(name, N_("every number needs a source"))
        return ""
    if not is_known(text, own):
        reader.wrong(name, N_("%(source)s is not a known source"), source=text)
    return text
