"""Where browsers tell of what the content security policy refused: counted and logged, nothing personal kept.

A page's address can hold a secret and a script's can hold anything, so only the rule that was broken and the host of
what was refused are looked at.
"""

from __future__ import annotations

import json
import logging
import re
from collections.abc import Callable
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_POST

from farm.web.counters import count, nameless

log = logging.getLogger(__name__)

# All limits: project default (judgement).
MOST_BYTES = 16 * 1024
MOST_REPORTS = 20  # in one message of the newer format
MINUTE = 60
MOST_A_MINUTE = 30  # messages from one address
KEPT_SECONDS = 24 * 3600
COUNT = "csp-reports"
OLD, NEW = "application/csp-report", "application/reports+json"
_RULE = re.compile(r"[a-z-]{3,40}")
_HOST = re.compile(r"[a-z0-9.:\[\]-]{1,100}")
#: What browsers write in place of an address.
_WORDS = frozenset({"inline", "eval", "wasm-eval", "data", "blob", "self", "trusted-types-policy", "about"})

Handler = Callable[[HttpRequest], HttpResponse]


def name_the_endpoint(get_response: Handler) -> Handler:
    """Say in every page's header where `report-to` leads, where browsers believe it: over TLS."""

    def middleware(request: HttpRequest) -> HttpResponse:
        response = get_response(request)
        if settings.TLS:
            response.headers["Reporting-Endpoints"] = f'csp="{settings.CSP_REPORTS}"'
        return response

    return middleware


@csrf_exempt  # browsers send them by themselves, without cookie or token; they change nothing
@require_POST
def take(request: HttpRequest) -> HttpResponse:
    """Count what a browser refused. 204; 400, 413 and 415 for what is no report, 429 for too many."""
    if request.content_type not in (OLD, NEW):
        return HttpResponse(status=415)
    sender = nameless(str(request.META.get("REMOTE_ADDR", "")))
    if count(f"{COUNT}:from:{sender}", MINUTE) > MOST_A_MINUTE:
        return HttpResponse(status=429, headers={"Retry-After": str(MINUTE)})
    sent = request.read(MOST_BYTES + 1)
    if len(sent) > MOST_BYTES:
        return HttpResponse(status=413)
    found = reports(request.content_type, sent)
    if found is None:
        return HttpResponse(status=400)
    for rule, what in found:
        count(COUNT, KEPT_SECONDS)
        log.warning("A browser refused %s by the rule %s.", what, rule)
    return HttpResponse(status=204)


def counted() -> int:
    """Return how many refusals were reported since the count began, a day ago at most."""
    return int(cache.get(COUNT, 0))


def reports(kind: str, sent: bytes) -> list[tuple[str, str]] | None:
    """Return (rule, what was refused) of each report in a message; None for what is none."""
    try:
        read = json.loads(sent)
    except (ValueError, RecursionError):
        return None
    if kind == OLD:
        body = read.get("csp-report") if isinstance(read, dict) else None
        return [_told(body, "-")] if isinstance(body, dict) else None
    if not isinstance(read, list) or len(read) > MOST_REPORTS:
        return None
    told = [one.get("body") for one in read if isinstance(one, dict) and one.get("type") == "csp-violation"]
    return [_told(body, "") for body in told if isinstance(body, dict)]


def _told(body: dict[str, Any], style: str) -> tuple[str, str]:
    names = ("effective-directive", "violated-directive") if style else ("effectiveDirective",)
    written = next((body[name] for name in names if isinstance(body.get(name), str)), "")
    rule = written.split(" ")[0]
    return (
        rule if _RULE.fullmatch(rule) else "unknown",
        _what(body.get("blocked-uri" if style else "blockedURL")),
    )


def _what(written: object) -> str:
    """Return the host of what was refused, or the browser's word for it."""
    if not isinstance(written, str):
        return "unknown"
    if written in _WORDS:
        return written
    try:
        host = urlsplit(written).hostname or ""
    except ValueError:
        return "unknown"
    return host if _HOST.fullmatch(host) else "unknown"
