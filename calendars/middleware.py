"""Calendars are answered before anything that knows people: sessions, languages, cookies, redirects to
https.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from calendars import views

log = logging.getLogger(__name__)

_PATH = re.compile(r"/c/([^/]+)\.ics")

Handler = Callable[[HttpRequest], HttpResponse]


def calendars_first(get_response: Handler) -> Handler:
    """Stand first in MIDDLEWARE: answer /c/<secret>.ics, pass everything else on.

    The middleware behind adds what a calendar must not have: a redirect (apps drop the subscription), Vary on
    cookie and language (caches never hit), a page for a mistake.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        match = _PATH.fullmatch(request.path_info)
        if match is None:
            return get_response(request)
        try:
            response = views.calendar(request, match[1])
        except Exception:
            # Handled here: Django's own report of it would write the secret address into logs and mails.
            log.exception("a calendar could not be answered")
            response = HttpResponse(status=503, headers={"Retry-After": "300"})
        # Django logs refused requests with their path; the path is the secret.
        response._has_been_logged = True  # type: ignore[attr-defined]
        return response

    return middleware
