"""Log lines without secrets: whoever reads a log must not be able to open a family's calendar."""

from __future__ import annotations

import logging
import re

# A calendar link, an invitation, a password reset and a personal link all open something to whoever holds the address.
# Of the pages below /my/ only personal links have so long a part: the others stay readable.
SECRET_PATH = re.compile(r"(/(?:c|join|invitations?|reset)/)[^\s?#\"'<>)\]]+|(/my/)[A-Za-z0-9_-]{20,}")
# A task app signs in with every request; its app password is seven groups of four.
APP_PASSWORD = re.compile(r"(\bBasic )[A-Za-z0-9+/=]{16,}|\b(?:[a-z0-9]{4}-){6}[a-z0-9]{4}\b", re.IGNORECASE)


def redact(line: str) -> str:
    """Return `line` with what follows `/c/` and the other secret addresses blotted out, and app passwords too."""
    return APP_PASSWORD.sub(r"\1[secret]", SECRET_PATH.sub(r"\1\2[secret]", line))


class RedactingFormatter(logging.Formatter):
    """Formats as usual and redacts last, so that arguments and tracebacks are covered too."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the finished, redacted line."""
        return redact(super().format(record))
