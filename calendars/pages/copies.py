"""Copies to keep or to import: one event, one batch, a whole season; as a calendar file or as a table."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.text import slugify
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from calendars import building, headings, preview, queries, services, wanted
from calendars.editions import Edition, of
from calendars.ics import COPIED
from calendars.pages.copy_form import CopyForm
from calendars.pages.seeing import link_seen
from farm.errors import NotFound
from farm.web.access import FarmRequest, farm_page
from farm.web.mishaps import shown_in

#: The keys of a copy's address that say what is done with it, not what it holds.
_VERBS = ("as", "uid")


@never_cache
@require_safe
@farm_page()
def copy(request: FarmRequest) -> HttpResponse:
    """Ask what is to be copied, show it, or send it."""
    asked = request.GET.get("as", "")
    form = CopyForm(request.GET if asked else None, visit=request.visit, asked=request.GET)
    context: dict[str, Any] = {"form": form}
    if asked and form.is_valid():
        with shown_in(form):
            edition = wanted.judged(request.visit.member, **form.values()).edition(request.visit.member)
        if form.is_valid():
            octets = building.draft(edition, request.visit.by.now, COPIED).octets
            if asked in ("ics", "csv"):
                return _sent(edition, octets, asked, request.GET.get("uid", ""))
            kept = request.GET.copy()
            for name in _VERBS:
                kept.pop(name, None)
            start = edition.window(request.visit.by.today).start
            context["preview"] = preview.of(octets, edition.written_in, start)
            context["event_base"] = f"{reverse('calendar-copy')}?{kept.urlencode()}&as=ics&uid="
    return render(request, "web/links/copy.html", context)


@never_cache
@require_safe
@farm_page()
def event(request: FarmRequest, pk: int) -> HttpResponse:
    """Send one event of a link's calendar, as it is published; without a UID, go to where one is chosen."""
    link = link_seen(request, pk)
    uid = request.GET.get("uid", "")
    if not uid:
        return redirect("calendar-link", pk)
    row = services.build(of(link), request.visit.by.now)
    return _sent(of(link), bytes(row.octets), "ics", uid)


def _sent(edition: Edition, octets: bytes, kind: str, uid: str) -> HttpResponse:
    name = slugify(headings.name(edition, queries.thing(edition))) or "calendar"
    if uid:
        alone = preview.only(octets, uid)
        if alone is None:
            raise NotFound(_("There is no such event in this calendar (any more)."))
        octets, name = alone, f"{name}-event"
    if kind == "csv":
        # The mark tells spreadsheets that it is UTF-8.
        text = "\ufeff" + preview.table(octets, edition.written_in)
        answer = HttpResponse(text, content_type="text/csv; charset=utf-8")
    else:
        answer = HttpResponse(octets, content_type="text/calendar; charset=utf-8")
    answer["Content-Disposition"] = f'attachment; filename="featherdays-{name[:60]}.{kind}"'
    answer["X-Robots-Tag"] = "noindex"
    answer["X-Content-Type-Options"] = "nosniff"
    return answer
