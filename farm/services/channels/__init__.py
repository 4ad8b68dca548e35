"""The ways a message leaves: e-mail, somebody's messaging service, a browser. Senders know no farm and no database."""

from __future__ import annotations

from importlib import import_module
from typing import cast

from farm.services.channels.message import ChannelRefused, Message, NotSent, Sender

__all__ = ["KINDS", "ChannelRefused", "Message", "NotSent", "Sender", "of_kind"]

#: Each kind of address, and the module that sends to it.
KINDS = {"email": "mail", "service": "services", "push": "web_push"}


def of_kind(kind: str) -> Sender:
    """Return the sender for a kind of `KINDS`. Raises KeyError for another.

    It is imported here, because the program that runs Apprise needs none of the others and should start quickly.
    """
    return cast(Sender, import_module(f"{__name__}.{KINDS[kind]}"))
