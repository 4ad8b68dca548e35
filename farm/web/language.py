"""The language a login has chosen, instead of the browser's."""

from __future__ import annotations

from collections.abc import Callable

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.utils import translation

Handler = Callable[[HttpRequest], HttpResponse]


def login_language(get_response: Handler) -> Handler:
    """Stand behind AuthenticationMiddleware: speak the language of whoever is signed in, if they chose one.

    A language that is no longer offered is passed over. Without a session cookie nothing is read.
    """

    def middleware(request: HttpRequest) -> HttpResponse:
        if settings.SESSION_COOKIE_NAME in request.COOKIES and request.user.is_authenticated:
            language = request.user.language
            if language in dict(settings.LANGUAGES):
                translation.activate(language)
                request.LANGUAGE_CODE = language
        return get_response(request)

    return middleware
