"""One careful question to an address that somebody else named.

https only, to the very address that was judged, within limits of time and size; redirects are followed only as far as
they were asked for, each judged anew.
"""

from __future__ import annotations

import http.client
import ssl
import time
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from email.message import Message
from urllib.parse import SplitResult, quote, urljoin, urlsplit

from farm.phrase import N_
from farm.services.channels.addresses import LookUp, NotPublic, Unresolved, check_public
from farm.services.channels.wire import Pinned

#: Why nothing came, by `Unfetched.why`.
WHY: Mapping[str, str] = {
    "address": N_("That is not a web address that begins with https://."),
    "unresolved": N_("No such host could be found. Look for a typing slip in the address."),
    "private": N_("That address is not on the public internet, so it is not asked for."),
    "unreachable": N_("It could not be reached."),
    "untrusted": N_("Its certificate is not to be trusted: expired, home-made, or another site's."),
    "slow": N_("It took too long to answer."),
    "large": N_("Its answer is too large."),
    "redirects": N_("It only sends on to another address. Give the address it ends at."),
    "odd": N_("Its answer could not be read."),
}
_REDIRECTS = frozenset({301, 302, 303, 307, 308})
#: What a question keeps when it is sent on to another host: nothing that could be a secret.
_HARMLESS = frozenset({"accept", "accept-language", "user-agent"})
_CHUNK = 64 * 1024


@dataclass(frozen=True, slots=True)
class Limits:
    """seconds: for all of it, redirects included. most_bytes: of the body. private: a household's own network will do.

    Project default (judgement), all.
    """

    seconds: float = 20.0
    most_bytes: int = 1_000_000
    redirects: int = 0
    private: bool = False


@dataclass(frozen=True, slots=True)
class Request:
    """A question. Only one without a body is ever redirected."""

    url: str
    method: str = "GET"
    headers: Mapping[str, str] = field(default_factory=dict)
    body: bytes | None = None


@dataclass(frozen=True, slots=True)
class Answer:
    """What was said, whatever the status. url: where it came from, after redirects."""

    status: int
    headers: Message
    body: bytes
    url: str


class Unfetched(Exception):
    """No answer. why: a key of `WHY`. The address, which may hold a secret, is in no part of it."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


def fetch(
    asked: str | Request,
    *,
    limits: Limits | None = None,
    look_up: LookUp | None = None,
    context: ssl.SSLContext | None = None,
) -> Answer:
    """Ask, and return the answer with any status. Raises Unfetched, and nothing else.

    look_up and context: the resolver and the trust, the system's own unless given.
    """
    limits = limits or Limits()
    request = Request(asked) if isinstance(asked, str) else asked
    context = context or ssl.create_default_context()
    ends = time.monotonic() + limits.seconds
    for _hop in range(limits.redirects + 1):
        answer = _ask(request, limits, ends, look_up, context)
        onward = answer.headers.get("Location")
        if answer.status not in _REDIRECTS or not onward or not limits.redirects or request.body is not None:
            return answer
        request = _sent_on(request, onward)
    raise Unfetched("redirects")


def _sent_on(request: Request, onward: str) -> Request:
    try:
        url = urljoin(request.url, onward)
        same = urlsplit(url).netloc == urlsplit(request.url).netloc
    except ValueError as error:
        raise Unfetched("odd") from error
    kept = {name: value for name, value in request.headers.items() if same or name.lower() in _HARMLESS}
    return replace(request, url=url, headers=kept)


def _ask(
    request: Request, limits: Limits, ends: float, look_up: LookUp | None, context: ssl.SSLContext
) -> Answer:
    parts, host, port = parts_of(request.url)
    try:
        found = check_public(host, port, private=limits.private, look_up=look_up)
        connection = Pinned(host, port, found, ends, context)
        try:
            headers = {"Connection": "close", **request.headers}
            connection.request(request.method, _target(parts), body=request.body, headers=headers)
            with connection.getresponse() as answer:
                return Answer(answer.status, answer.headers, _body(answer, limits.most_bytes), request.url)
        finally:
            connection.close()
    except NotPublic as error:
        raise Unfetched("private") from error
    except Unresolved as error:
        raise Unfetched("unresolved") from error
    except TimeoutError as error:
        raise Unfetched("slow") from error
    except ssl.SSLCertVerificationError as error:
        raise Unfetched("untrusted") from error
    except OSError as error:
        raise Unfetched("unreachable") from error
    except UnicodeError as error:  # a host no name can be
        raise Unfetched("address") from error
    except (http.client.HTTPException, ValueError) as error:
        raise Unfetched("odd") from error


def parts_of(url: str) -> tuple[SplitResult, str, int]:
    """Return an address in its parts, its host and its port."""
    try:
        parts = urlsplit(url)
        port = parts.port or 443
    except ValueError as error:
        raise Unfetched("address") from error
    odd = any(one.isspace() or not one.isprintable() for one in url)
    if parts.scheme != "https" or not parts.hostname or parts.username or parts.password or odd:
        raise Unfetched("address")
    return parts, parts.hostname, port


def _target(parts: SplitResult) -> str:
    path = quote(parts.path or "/", safe="/%:@!$&'()*+,;=~-._")
    return f"{path}?{quote(parts.query, safe='/?%:@!$&()*+,;=~-._')}" if parts.query else path


def _body(answer: http.client.HTTPResponse, most: int) -> bytes:
    announced = answer.length
    if announced is not None and announced > most:
        raise Unfetched("large")
    parts: list[bytes] = []
    size = 0
    while part := answer.read(_CHUNK):
        parts.append(part)
        size += len(part)
        if size > most:
            raise Unfetched("large")
    if announced is not None and size < announced:
        raise Unfetched("unreachable")  # cut off on the way
    return b"".join(parts)
