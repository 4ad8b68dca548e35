"""The page itself: read, and ticked by plain forms where no script runs."""

from __future__ import annotations

from datetime import timedelta

from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from farm.models import MarkPhoto
from farm.models.member import Role
from farm.queries import lookup, members
from farm.services import offline
from farm.services.offline import Answer
from farm.web.access import FarmRequest, farm_page
from farm.web.my import brake, day, reading, swaps
from farm.web.my.doors import Door, by_link, said, signed_in
from farm.web.today import rounds


@require_http_methods(["GET", "HEAD", "POST"])
def page(request: HttpRequest, door: Door) -> HttpResponse:
    """Show the member's rounds. POST: what a plain form says is written down, then the page comes back at its line."""
    if request.method != "POST":
        elsewhere = _other_day(request, door)
        return _shown(request, door) if elsewhere is None else HttpResponseRedirect(elsewhere)
    try:
        sent = reading.of_form(request)
    except reading.TooLarge as error:
        return said(request, str(error), 413)
    wait = brake.sending(door.who, 1)
    if wait:
        response = said(request, _("Too many ticks at once. Wait a minute."), 429)
        response.headers["Retry-After"] = str(wait)
        return response
    (answer,) = offline.accept(door.by, member=door.member, sent=[sent], over_link=door.link is not None)
    if answer.text:
        # No redirect: nothing but this answer can carry the sentence where no session may be.
        return _shown(request, door, answer, sent.title)
    line = request.POST.get("line", "")
    return HttpResponseRedirect(f"{door.base}#{line}" if line.replace("-", "").isalnum() else door.base)


def _other_day(request: HttpRequest, door: Door) -> str | None:
    """Return where a day is shown that this page does not reach (`?day=2026-05-09`, as calendars name it), None for
    those it does. Over a personal link there is no other page.
    """
    asked = request.GET.get("day", "")
    if door.link is not None or not asked:
        return None
    today = door.by.today
    there = rounds.day_asked(asked, today)
    if today <= there <= today + timedelta(days=day.AHEAD_DAYS):
        return None
    return f"{reverse('today')}?day={there.isoformat()}&mine=1"


def _shown(request: HttpRequest, door: Door, answer: Answer | None = None, title: str = "") -> HttpResponse:
    signed = door.link is None
    context = {
        "door": door,
        "farm": door.farm,
        "member": door.member,
        "work": day.of(door),
        "today": door.by.today,
        "now": door.by.now,
        "answer": answer,
        "answer_title": title,
        "frame": "web/base.html" if signed else "web/my/bare.html",
        "adults": ", ".join(members.beside_children(door.farm.pk)) if door.member.role == Role.CHILD else "",
        "swaps": swaps.of(door) if signed else None,
    }
    response = render(request, "web/my/my.html", context)
    response.headers["X-My-Who"] = door.who
    return response


my = signed_in(page)
my_by_link = by_link(page)


@require_safe
@farm_page()
def photo(request: FarmRequest, pk: int) -> HttpResponse:
    """Show the picture of a mark to members of its farm."""
    found = lookup.get(MarkPhoto, farm_id=request.visit.farm.pk, pk=pk)
    response = HttpResponse(bytes(found.jpeg), content_type="image/jpeg")
    response.headers["Cache-Control"] = "private, no-cache"
    response.headers["Content-Disposition"] = "inline"
    return response
