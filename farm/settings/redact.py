"""Log lines without secrets: whoever reads a log must not be able to open a family's calendar."""

from __future__ import annotations

import logging
import re

# A calendar link, an invitation, a password reset and a personal link all open something to whoever holds the address.
# Of the pages below /my/ only personal links have so long a part: the others stay readable.
SECRET_PATH = re.compile(r"(/(?:c|join|invitations?|reset)/)[^\s?#\"'<>)\]]+|(/my/)[A-Za-z0-9_-]{20,}")
# A task app signs in with every request; its app password is seven groups of four.
APP_PASSWORD = re.compile(r"(\bBasic )[A-Za-z0-9+/=]{16,}|\b(?:[a-z0-9]{4}-){6}[a-z0-9]{4}\b", re.IGNORECASE)
# What programs sign in with, what an app for codes is told once, and a password inside an address.
TOKEN = re.compile(
    r"(\bBearer )[^\s\"',]+|\bfd_[A-Za-z0-9_-]{8,}|(\botpauth://)[^\s\"'<>]+|(://)[^\s/@\"'<>]+(?=@)",
    re.IGNORECASE,
)

# What a form, a header or a cookie named as a secret, however it is written out.
NAMED = re.compile(
    r"((?:\b|_)(?:password[12]?|secret|code|address|token|csrfmiddlewaretoken|csrftoken|sessionid)['\"]\s*:\s*\[?\s*b?['\"])(?:\\.|[^'\"\\])+"
    r"|(\b(?:sessionid|csrftoken|known_browser)=)[^\s;\"',]+",
    re.IGNORECASE,
)


def redact(line: str) -> str:
    """Return `line` with what follows `/c/` and the other secret addresses blotted out, passwords and tokens too."""
    for secret in (SECRET_PATH, APP_PASSWORD, TOKEN, NAMED):
        line = secret.sub(_kept, line)
    return line


def _kept(match: re.Match[str]) -> str:
    """Return what may stay of a secret that was found: the word before it."""
    return "".join(part or "" for part in match.groups()) + "[secret]"


class RedactingFormatter(logging.Formatter):
    """Formats as usual and redacts last, so that arguments and tracebacks are covered too."""

    def format(self, record: logging.LogRecord) -> str:
        """Return the finished, redacted line."""
        return redact(super().format(record))
