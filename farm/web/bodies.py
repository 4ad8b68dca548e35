"""How much a request may bring: judged before a form's token is looked for, which would unpack all of it."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _

MB = 1024 * 1024
MOST_MB = 10  # a picture of 8 MB and what is said with it; project default (judgement)
#: Pages that take more, from those who are signed in.
LARGER = {"bring-farm": "ARCHIVE_MB"}


class Bounded:
    """Stands before CsrfViewMiddleware: 413, said plainly, for more than a page has use for."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass the request on."""
        return self.get_response(request)

    def process_view(self, request: HttpRequest, *_view: Any) -> HttpResponse | None:
        """Refuse what is too large. The server in front has counted the bytes and says so in Content-Length."""
        text = request.META.get("CONTENT_LENGTH") or "0"
        most = most_mb(request)
        if text.isdecimal() and int(text) <= most * MB:
            return None
        message = _("This is too large: at most %(most)d MB.") % {"most": most}
        return render(request, "web/mishap.html", {"message": message}, status=413)


def most_mb(request: HttpRequest) -> int:
    """Return how many MB the page that was asked for takes from whoever asks."""
    name = request.resolver_match.url_name if request.resolver_match else None
    if name in LARGER and request.user.is_authenticated:
        # The form around a file is small.
        return int(getattr(settings, LARGER[name])) + 1
    return MOST_MB
