"""Who says so, in plain words: the publication with its year, linked only when its address was looked up."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.translation import gettext as _

from farm.trade.programme import JUDGEMENT, NO_SOURCE, OWN
from farm.trade.sources import sources


@dataclass(frozen=True, slots=True)
class Citation:
    """One source as a page shows it. address: "" when it is print or was not looked up. note: what to beware of."""

    key: str
    text: str
    address: str = ""
    note: str = ""


def cite(text: str) -> list[Citation]:
    """Return the sources that a number carries, parted by `; `."""
    return [_one(part) for part in text.split("; ")]


def known() -> list[tuple[str, str]]:
    """Return every source that an own figure may carry, with its words."""
    labels = [(label, _one(label).text) for label in (OWN, NO_SOURCE, JUDGEMENT)]
    return labels + [(key, _one(key).text) for key in sorted(sources())]


def _one(part: str) -> Citation:
    plain = {
        NO_SOURCE: _("common practice, no source"),
        JUDGEMENT: _("our judgement: check it against your own birds"),
        OWN: _("this farm's own figure"),
    }
    if part in plain:
        return Citation(part, plain[part])
    source = sources().get(part)
    if source is None:
        return Citation(part, part)
    words = ". ".join(word for word in (source.publisher, source.title) if word)
    return Citation(
        key=part,
        text=f"{words} ({source.year})" if source.year else words,
        address=f"https://{source.address}" if source.address and source.confirmed else "",
        note=_("from an abstract or a reprint") if source.reprint else "",
    )
