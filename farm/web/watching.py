"""What is noted about every request, whoever answers it: a number of its own, one line in the log, its time."""

from __future__ import annotations

import logging
import re
import secrets
import time
from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse

from farm.settings.logs import request_id
from farm.web import metrics

log = logging.getLogger("farm.access")

Handler = Callable[[HttpRequest], HttpResponse]

#: A number that a proxy may give: anything else in a log would let whoever asks write into it.
_GIVEN = re.compile(r"[A-Za-z0-9_-]{8,64}")
_METHODS = frozenset({"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS", "PROPFIND", "REPORT"})


def watched(get_response: Handler) -> Handler:
    """Stand outermost in MIDDLEWARE. Routes are told by name and never by path: paths hold secrets.

    `X-Request-ID` is taken from the proxy or made, and sent back with everything that has a page's headers.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        token = request_id.set(number_of(request))
        began = time.perf_counter()
        try:
            response = get_response(request)
            note(request, response.status_code, time.perf_counter() - began)
            if not hasattr(request, "route"):  # a calendar has the headers apps need, and no others
                response.headers["X-Request-ID"] = request_id.get()
        finally:
            request_id.reset(token)
        return response

    return middleware


def number_of(request: HttpRequest) -> str:
    """Return the number the request came with, if it is a sane one, else a new one."""
    given = request.headers.get("X-Request-ID", "")
    return given if _GIVEN.fullmatch(given) else secrets.token_hex(8)


def route_of(request: HttpRequest) -> str:
    """Return the name of what answered: one of a bounded number, whatever is asked for."""
    known = getattr(request, "route", None)  # what is answered before the router says so itself
    if known is not None:
        return str(known)
    match = request.resolver_match
    return match.view_name if match is not None else "none"


def note(request: HttpRequest, status: int, seconds: float) -> None:
    """Count one answer and write its line."""
    method = request.method if request.method in _METHODS else "other"
    route = route_of(request)
    if settings.METRICS:
        metrics.REQUESTS.labels(route=route, method=method, status=str(status)).observe(seconds)
    if log.isEnabledFor(logging.INFO):
        visit = getattr(request, "visit", None)
        farm = None if visit is None else visit.farm.pk
        fields = {"route": route, "method": method, "status": status, "ms": round(seconds * 1000, 1)}
        whose = "" if farm is None else f"farm {farm} "
        words = (method, route, status, fields["ms"], whose, request_id.get())
        log.info("%s %s %s %s ms %srequest %s", *words, extra=fields | {"farm": farm})
