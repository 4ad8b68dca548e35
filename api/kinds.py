"""The page that says what each kind of problem means: `type` of every problem leads to it."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from api.core.problems import KINDS
from farm.web.access import open_page


@require_safe
@open_page
def page(request: HttpRequest) -> HttpResponse:
    """Show every kind with its status and what a program should do."""
    rows = [(kind, status, title, advice) for kind, (status, title, advice) in KINDS.items()]
    return render(request, "api/problems.html", {"rows": rows})
