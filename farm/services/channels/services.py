"""By a messaging service the member uses anyway, through Apprise, which runs in a process of its own."""

from __future__ import annotations

import json
import subprocess
from typing import Any

from django.conf import settings
from django.utils.translation import gettext as _

from farm.services import apart
from farm.services.channels import addresses
from farm.services.channels.message import ChannelRefused, Message, NotSent, refused
from farm.services.channels.service_list import named

_PROGRAM = "farm.services.channels.service_program"
#: To read an address, seconds: nothing is asked of anybody meanwhile. Project default (judgement).
_CHECK_SECONDS = 30.0
#: A service that answers so knows neither the address nor its secret, or won't have the message: not later either.
_LASTING = frozenset({400, 401, 403, 404, 405, 410, 422})


def check(address: str) -> str:
    """Return the name of an address's service, with its host where the member named one. Raises ChannelRefused.

    The host must be known and public, or the household's own with PRIVATE_PUSH. Takes a second or so.
    """
    service = named(address)
    found = _run(address, None, _CHECK_SECONDS)
    if not found.get("known"):
        text = _("That is not a whole address of %(service)s: something in it is missing or too much.")
        raise refused(text % {"service": service.label})
    if not service.own or not found["host"]:
        return service.label
    try:
        addresses.check_public(found["host"], found["port"], private=settings.PRIVATE_PUSH)
    except addresses.NotPublic as error:
        raise refused(_("That host is not on the public internet, so nothing is sent to it.")) from error
    except addresses.Unresolved as error:
        raise refused(_("No such host could be found. Look for a typing slip in the address.")) from error
    return f"{service.label} ({found['host']})"


def send(address: str, message: Message, timeout: float) -> None:
    """Send through the service of `address` within `timeout` seconds. Raises NotSent."""
    try:
        service = named(address)
    except ChannelRefused as error:
        raise NotSent(str(error), lasting=True) from error
    found = _run(address, {"subject": message.headline(), "body": message.text()}, timeout)
    if found.get("sent"):
        return
    words = {"service": service.label}
    if not found:
        raise NotSent(_("%(service)s took too long, or its answer could not be read.") % words, lasting=False)
    if not found["known"]:
        raise NotSent(_("%(service)s's address can't be read any more.") % words, lasting=True)
    if found["refused"]:
        text = _("%(service)s's host is not on the public internet, so nothing is sent to it.")
        raise NotSent(text % words, lasting=True)
    if not found["statuses"]:
        raise NotSent(_("%(service)s could not be reached.") % words, lasting=False)
    if found["statuses"][-1] in _LASTING:
        text = _("%(service)s refused the message (%(status)d). Look whether the address is still right.")
        raise NotSent(text % (words | {"status": found["statuses"][-1]}), lasting=True)
    raise NotSent(_("%(service)s could not take the message just now.") % words, lasting=False)


def _run(address: str, message: dict[str, str] | None, seconds: float) -> dict[str, Any]:
    """Return the program's answer, an empty one when none came in time."""
    asked = {"address": address, "message": message, "private": settings.PRIVATE_PUSH, "seconds": seconds}
    try:
        done = apart.run(_PROGRAM, json.dumps(asked).encode(), seconds)
        found = json.loads(done.stdout)
    except (subprocess.TimeoutExpired, OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}
