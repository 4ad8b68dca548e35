"""Calendars and task lists are answered before anything that knows people: sessions, languages, cookies, redirects
to https.
"""

from __future__ import annotations

import logging
import re
from collections.abc import Callable

from django.http import HttpRequest, HttpResponse

from calendars import views
from calendars.dav import door

log = logging.getLogger(__name__)

_PATH = re.compile(r"/c/([^/]+)\.ics")

Handler = Callable[[HttpRequest], HttpResponse]


def calendars_first(get_response: Handler) -> Handler:
    """Stand first in MIDDLEWARE: answer /c/<secret>.ics and what is below /dav/, pass everything else on.

    The middleware behind adds what a calendar must not have: a redirect (apps drop the subscription), Vary on
    cookie and language (caches never hit), a page for a mistake.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        match = _PATH.fullmatch(request.path_info)
        if match is None and not door.is_ours(request.path_info):
            return get_response(request)
        request.route = "task-list" if match is None else "calendar"  # type: ignore[attr-defined]  # for who watches
        try:
            response = door.answer(request) if match is None else views.calendar(request, match[1])
        except Exception:
            # Handled here: Django's own report of it would write secrets, in address or headers, into logs and mails.
            log.exception("a %s could not be answered", "task list" if match is None else "calendar")
            response = HttpResponse(status=503, headers={"Retry-After": "300"})
        # Django logs refused requests with their path; the path of a calendar is the secret.
        response._has_been_logged = True  # type: ignore[attr-defined]
        return response

    return middleware
