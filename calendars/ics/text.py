"""The one way text gets into a calendar.

People type titles and notes, and other programs read them: a calendar app, a terminal, a spreadsheet somebody
exports to. Whatever could break a line, reorder a line, run as a formula or crash a reader is taken out here
and nowhere else.
"""

from __future__ import annotations

import re
import unicodedata

LINE_CAP = 200
TEXT_CAP = 2000

# Every way to break a line: CR LF, CR, NEL, LINE SEPARATOR, PARAGRAPH SEPARATOR (VT and FF are dropped as
# controls).
_BREAKS = re.compile("\r\n|[\r\x85\u2028\u2029]")
# C0 but for LF, DEL, C1, surrogates, bidi embeddings, overrides and isolates, BOM, and the two
# never-characters.
_DROPPED = re.compile(
    "[\x00-\x09\x0b-\x1f\x7f-\x9f\ud800-\udfff\u202a-\u202e\u2066-\u2069\ufeff\ufffe\uffff]"
)
# A long run would fold into a line of blanks alone, which some readers take for the end.
_SPACES = re.compile(r"[^\S\n]{2,}")
_JOINERS = "\u200c\u200d"
# A spreadsheet runs a cell that begins so; an apostrophe makes it text (the usual advice against CSV
# injection).
_FORMULA = "=+-@"


def clean(text: str, cap: int = TEXT_CAP, *, lines: bool = True) -> str:
    """Return `text` as it may stand in a calendar, NFC and at most `cap` characters.

    lines: False folds everything into one line. A text that was cut ends in "…" and never within a combined
    character. Cleaning twice changes nothing more.
    """
    text = _BREAKS.sub("\n", text.replace("\t", " "))
    text = unicodedata.normalize("NFC", _DROPPED.sub("", text))
    text = _SPACES.sub(" ", text).strip() if lines else " ".join(text.split())
    if text.startswith(tuple(_FORMULA)):
        text = "'" + text
    return _cut(text, cap)


def _cut(text: str, cap: int) -> str:
    if len(text) <= cap:
        return text
    end = cap - 1
    while end > 0 and _joined(text, end):
        end -= 1
    return text[:end].rstrip() + "…"


def _joined(text: str, at: int) -> bool:
    """Say whether cutting before `at` would tear a mark or a joined emoji off its base."""
    return (
        unicodedata.combining(text[at]) != 0
        or text[at] in _JOINERS
        or text[at - 1] in _JOINERS
        or "\ufe00" <= text[at] <= "\ufe0f"
        or "\U0001f3fb" <= text[at] <= "\U0001f3ff"
    )
