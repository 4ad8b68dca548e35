"""One careful question over HTTP: a time limit for all of it, a size limit, no other host, nothing but plain errors."""

from __future__ import annotations

import http.client
import socket
import time
import urllib.error
import urllib.request
from collections.abc import Mapping
from datetime import datetime, timedelta
from email.message import Message
from email.utils import parsedate_to_datetime
from typing import IO, Any
from urllib.parse import urlsplit

from farm.services.forecasts.provider import NoForecast

#: Project default (judgement): an answer is some hundred kB, and there within a second or two.
MOST_BYTES, CONNECT_SECONDS, WHOLE_SECONDS = 4_000_000, 10.0, 30.0
_CHUNK = 64 * 1024
_REFUSED = frozenset({400, 401, 403, 404, 405, 410, 422})


class _SameHost(urllib.request.HTTPRedirectHandler):
    """Follows a service to another of its own addresses, never to another host or to plain http."""

    def redirect_request(
        self, req: urllib.request.Request, fp: IO[bytes], code: int, msg: str, headers: Any, newurl: str
    ) -> urllib.request.Request | None:
        """Return the next question. Raises NoForecast for another host."""
        old, new = urlsplit(req.full_url), urlsplit(newurl)
        if (new.scheme, new.netloc) != (old.scheme, old.netloc):
            raise NoForecast("refused")
        return super().redirect_request(req, fp, code, msg, headers, newurl)


#: No proxy: the settings alone say whom this server talks to.
_OPENER = urllib.request.build_opener(urllib.request.ProxyHandler({}), _SameHost)


def get(
    url: str, headers: Mapping[str, str], now: datetime, seconds: float = WHOLE_SECONDS
) -> tuple[bytes, Message]:
    """Return the body and headers of a 200. Raises NoForecast for everything else."""
    ends = time.monotonic() + seconds
    question = urllib.request.Request(url, headers=dict(headers))
    try:
        with _OPENER.open(question, timeout=min(CONNECT_SECONDS, seconds)) as answer:
            if answer.status not in (200, 203):  # 203: the service is about to give this version of itself up
                raise NoForecast("unreadable")
            return _body(answer, ends), answer.headers
    except urllib.error.HTTPError as error:
        with error:
            raise _refusal(error, now) from error
    except TimeoutError as error:
        raise NoForecast("slow") from error
    except urllib.error.URLError as error:
        late = isinstance(error.reason, socket.timeout)
        raise NoForecast("slow" if late else "unreachable") from error
    except (http.client.HTTPException, OSError, ValueError) as error:
        raise NoForecast("unreachable") from error


def _body(answer: Any, ends: float) -> bytes:
    parts, size = [], 0
    while part := answer.read1(_CHUNK):
        parts.append(part)
        size += len(part)
        if size > MOST_BYTES:
            raise NoForecast("unreadable")
        if time.monotonic() > ends:
            raise NoForecast("slow")
    announced = answer.headers.get("Content-Length")
    if announced and announced.isdigit() and size < int(announced):
        raise NoForecast("unreachable")  # cut off on the way
    return b"".join(parts)


def _refusal(error: urllib.error.HTTPError, now: datetime) -> NoForecast:
    wait = _wait(error.headers, now)
    if error.code in (429, 503):
        return NoForecast("busy", wait)
    return NoForecast("refused" if error.code in _REFUSED else "failed", wait)


def _wait(headers: Message, now: datetime) -> timedelta | None:
    """Return what Retry-After asks for, in seconds or as a date."""
    said = (headers.get("Retry-After") or "").strip()
    if said.isascii() and said.isdigit():
        return timedelta(seconds=min(int(said), 7 * 24 * 3600))
    at = moment(said)
    return None if at is None or at <= now else min(at - now, timedelta(days=7))


def moment(said: str | None) -> datetime | None:
    """Return an HTTP date, None for what is none."""
    try:
        found = parsedate_to_datetime(said or "")
    except (TypeError, ValueError):
        return None
    return found if found.tzinfo else None
