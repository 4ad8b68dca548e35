"""Bytes of a file a spreadsheet wrote, as text."""

from __future__ import annotations

import codecs

MOST_BYTES = 1_000_000


def text_of(data: bytes) -> str:
    """Return the text of a file: UTF-8, UTF-16 with its mark, else the Western code page older spreadsheets write.

    Never fails: a byte no code page knows becomes a question mark. NUL, which no table holds, is left out.
    """
    if data.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        text = data.decode("utf-16", errors="replace")
    else:
        try:
            text = data.decode("utf-8-sig")
        except UnicodeDecodeError:
            text = data.decode("cp1252", errors="replace")
    return clean(text)


def clean(text: str) -> str:
    """Return the text as a form's box would send it back: no mark, no NUL, no half characters, plain line ends."""
    text = text.removeprefix("\ufeff").replace("\0", "")
    text = text.encode("utf-8", errors="replace").decode("utf-8")
    return text.replace("\r\n", "\n").replace("\r", "\n")
