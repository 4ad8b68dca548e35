"""The addresses of the API, those that take no such method and those that are not there included."""

from __future__ import annotations

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import path, re_path
from django.views.decorators.csrf import csrf_exempt

from api.core import door, problems
from api.kinds import page as kinds
from api.site import api


@csrf_exempt
def nothing_here(request: HttpRequest, rest: str) -> HttpResponse:
    """Answer what no noun answers."""
    return problems.answer("not-found", "There is nothing at this address. See /api/v1/docs/.")


def _whole(patterns: list[Any]) -> list[Any]:
    for pattern in patterns:
        pattern.callback = door.whole(pattern.callback)
    return patterns


_patterns, _app, _namespace = api.urls
urlpatterns = [
    path("problems/", kinds, name="api-problems"),
    path("", (_whole(_patterns), _app, _namespace)),
    re_path(r"^(?P<rest>.*)$", nothing_here, name="api-nothing"),
]
