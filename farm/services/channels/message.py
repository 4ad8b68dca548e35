"""What every channel carries, and the two ways it says no."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass
from typing import Protocol

from farm.errors import BadInput


@dataclass(frozen=True, slots=True)
class Message:
    """One message in its reader's language.

    subject, body: plain text. url: where it leads, an absolute address or "". key: names what it is about; the same
    key sent twice is the same message again, and a channel that can, shows it once.
    """

    subject: str
    body: str
    url: str
    key: str

    def headline(self) -> str:
        """Return the subject as one line: nothing in it can begin another header."""
        shown = "".join(
            " " if unicodedata.category(one) in ("Cc", "Zl", "Zp") else one for one in self.subject
        )
        return " ".join(shown.split())

    def text(self) -> str:
        """Return the body with the link below it."""
        return f"{self.body}\n\n{self.url}" if self.url else self.body


class NotSent(Exception):
    """A message that did not leave.

    text: why, in plain translated words without any secret. lasting: the same address will refuse again, so trying
    again is pointless. wait_s: the seconds the other side asked to be left alone for, None when it asked nothing.
    """

    def __init__(self, text: object, *, lasting: bool, wait_s: int | None = None) -> None:
        super().__init__(str(text))
        self.text, self.lasting, self.wait_s = str(text), lasting, wait_s


class ChannelRefused(BadInput):
    """An address that can't be used; its message says why, without the secret in it."""


def refused(text: object) -> ChannelRefused:
    """Return the refusal of an address, to raise."""
    return ChannelRefused({"address": [text]})


class Sender(Protocol):
    """One kind of channel."""

    def check(self, address: str) -> str:
        """Return a label for an address, free of secrets, to show in lists. Raises ChannelRefused."""

    def send(self, address: str, message: Message, timeout: float) -> None:
        """Send a message within `timeout` seconds. Raises NotSent, and nothing else."""
