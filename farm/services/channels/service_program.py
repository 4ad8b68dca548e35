"""The program that runs Apprise, in a process of its own: one question on stdin, one answer on stdout, both JSON.

Apprise is large, reads whatever a server answers, and writes addresses to its logs. Here it has a limit of memory and
of time, none of our variables, no log, and no way to an address that may not be reached: every connection of this
process is judged when it is made, so that a name which points elsewhere a moment later changes nothing.
"""

from __future__ import annotations

import json
import logging
import math
import resource
import signal
import sys
from contextlib import suppress
from ipaddress import ip_address
from typing import Any

from farm.services.channels.addresses import NotPublic, may_reach

#: Of memory, bytes: several times what Apprise needs. Project default (judgement).
MOST_MEMORY = 256 * 1024 * 1024
#: Apprise's own limits for a connection and for each wait of an answer, seconds. Project default (judgement).
CONNECT_SECONDS, READ_SECONDS = 5.0, 10.0


def main() -> None:
    """Answer the question on stdin."""
    asked = json.load(sys.stdin)
    limit(asked["seconds"])
    print(json.dumps(answer(asked)))


def limit(seconds: float) -> None:
    """Bound this process's memory and life, and silence its logs."""
    with suppress(ValueError, OSError):  # not every system can
        resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY, MOST_MEMORY))
    signal.alarm(math.ceil(seconds) + 1)  # ends this process even when whoever started it is gone
    logging.disable(logging.CRITICAL)


def guard(private: bool) -> list[str]:
    """Refuse, from now on, every connection of this process to what may not be reached; return the list of refusals."""
    refused: list[str] = []

    def judge(event: str, arguments: tuple[Any, ...]) -> None:
        if event not in ("socket.connect", "socket.sendto", "socket.sendmsg"):
            return
        place = arguments[1]
        try:
            fine = may_reach(ip_address(place[0]), private=private)
        except (ValueError, TypeError, IndexError):  # no number: a path, or a name nobody has judged
            fine = False
        if not fine:
            refused.append(event)
            raise NotPublic("not an address of the public internet")

    sys.addaudithook(judge)
    return refused


def answer(asked: dict[str, Any]) -> dict[str, Any]:
    """Return what became of a question.

    `{"known": …, "host": …, "port": …}`, the host "" when the member names none, and for a message
    `{"sent": …, "statuses": […], "refused": …}` with the HTTP statuses that came back.
    """
    refused = guard(asked["private"])
    service = _service(asked["address"])
    if service is None:
        return {"known": False}
    if asked["message"] is None:
        port = service.port or (443 if service.secure else 80)
        return {"known": True, "host": _host(service), "port": port}
    statuses = _watch(asked["private"])
    sent = False
    with suppress(Exception):  # whatever a service's answer made of Apprise: the message was not taken
        sent = _notify(service, asked["message"])
    return {"known": True, "sent": sent, "statuses": statuses, "refused": bool(refused)}


def _service(address: str) -> Any:
    """Return Apprise's object for an address, None for one it can't read."""
    from apprise import Apprise, AppriseAsset  # after the guard and the limits

    asset = AppriseAsset(app_id="Featherdays", app_desc="Featherdays", app_url="", image_url_mask="")
    with suppress(Exception):
        service = Apprise.instantiate(address, asset=asset)
        if service is not None:
            service.socket_connect_timeout, service.socket_read_timeout = CONNECT_SECONDS, READ_SECONDS
            service.redirects = False
        return service
    return None


def _notify(service: Any, message: dict[str, str]) -> bool:
    """Hand plain text to Apprise, which writes it as the service wants it: a < is no HTML."""
    from apprise import Apprise, NotifyFormat

    whole = Apprise()
    whole.add(service)
    return bool(whole.notify(body=message["body"], title=message["subject"], body_format=NotifyFormat.TEXT))


def _host(service: Any) -> str:
    """Return the host a service of one's own is at, "" where Apprise knows a hosted one's."""
    return "" if getattr(service, "mode", "") == "cloud" else str(service.host or "")


def _watch(private: bool) -> list[int]:
    """Note the status of every answer from now on, and let no question go out without TLS."""
    from requests import ConnectionError
    from requests.adapters import HTTPAdapter

    statuses: list[int] = []
    send = HTTPAdapter.send

    def watched(self: HTTPAdapter, request: Any, **options: Any) -> Any:
        if not private and not str(request.url).startswith("https://"):
            raise ConnectionError("not over TLS")
        found = send(self, request, **options)
        statuses.append(found.status_code)
        return found

    HTTPAdapter.send = watched  # type: ignore[method-assign,assignment]
    return statuses


if __name__ == "__main__":
    main()
