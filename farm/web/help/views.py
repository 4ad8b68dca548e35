"""The help page: open to everybody, because cautions are nobody's secret."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.services.channels import service_list
from farm.web.access import open_page
from farm.web.help import pieces
from farm.web.help.words import words
from farm.web.quick import grammar


@require_safe
@open_page
def help_page(request: HttpRequest) -> HttpResponse:
    """Show the words, how to start, quick entry, the tables, the calendars and every caution."""
    visit = getattr(request, "visit", None)
    context = {
        "words": words(),
        "phrases": grammar.examples(visit.farm if visit else None),
        "tables": pieces.tables(visit.farm if visit else None),
        "warned": pieces.warned(),
        "services": sorted({*service_list.HOSTED.values(), *service_list.OWN.values()}, key=str.casefold),
    }
    return render(request, "web/help/help.html", context)
