"""Django with one view that returns a constant, no middleware, no database: the most a machine can do this way."""

from __future__ import annotations

import logging
import os
from pathlib import Path

from django.conf import settings
from django.core.wsgi import get_wsgi_application
from django.http import HttpRequest, HttpResponse
from django.urls import path

OCTETS = Path(os.environ.get("BENCH_CONSTANT", os.devnull)).read_bytes()
TAG = '"constant"'


def constant(request: HttpRequest) -> HttpResponse:
    """Answer with the constant, or that it has not changed."""
    if request.headers.get("If-None-Match") == TAG:
        return HttpResponse(status=304, headers={"ETag": TAG})
    headers = {"ETag": TAG, "Content-Encoding": "gzip", "Content-Length": str(len(OCTETS))}
    return HttpResponse(OCTETS, content_type="text/calendar; charset=utf-8", headers=headers)


urlpatterns = [path("constant", constant)]

settings.configure(ROOT_URLCONF=__name__, ALLOWED_HOSTS=["*"], MIDDLEWARE=[], LOGGING_CONFIG=None)
logging.getLogger("waitress").setLevel(logging.ERROR)
application = get_wsgi_application()
