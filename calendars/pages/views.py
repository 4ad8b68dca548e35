"""Calendar links: looked at before they are made, shown once, given a new address, switched off."""

from __future__ import annotations

import logging

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from calendars import building, clients, editions, preview, queries, services, wanted
from calendars.models import CalendarLink
from calendars.pages.forms import LinkForm
from calendars.pages.seeing import link_seen
from calendars.preview import Preview
from farm.models import Member
from farm.queries import lookup
from farm.web.access import FarmRequest, farm_page
from farm.web.housing.card import qr_svg
from farm.web.mishaps import shown_in
from farm.web.zones import suggested

log = logging.getLogger(__name__)


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page()
def links(request: FarmRequest) -> HttpResponse:
    """List the links a member may see (a keeper: all of the farm's), and make a new one."""
    form = LinkForm(
        request.POST if request.method == "POST" else None, visit=request.visit, asked=request.GET
    )
    looked: Preview | None = None
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            if "look" in request.POST:
                looked = _look(request, form)
            else:
                link, secret = services.make_link(request.visit.by, **form.values())
        if form.is_valid() and looked is None:
            return _made(request, link, secret)
    seen = list(queries.links_seen_by(request.visit.member).select_related("member", "farm"))
    live = [link for link in seen if link.revoked_at is None and link.member.left_on is None]
    context = {
        "form": form,
        "zones": suggested(),
        "preview": looked,
        "live": [(link, _shows(link), clients.called(link.last_client)) for link in live],
        "off": [link for link in seen if link.revoked_at is not None or link.member.left_on is not None],
    }
    return render(request, "web/links/links.html", context)


def _look(request: FarmRequest, form: LinkForm) -> Preview:
    """Return what an app would list, of a link that is not made yet."""
    values = form.values()
    member = lookup.get(Member, farm_id=request.visit.farm.pk, pk=values.pop("member_id"))
    values.pop("label")
    edition = wanted.judged(member, **values).edition(member)
    body = building.draft(edition, request.visit.by.now)
    return preview.of(body.octets, edition.written_in, request.visit.by.today)


def _made(request: FarmRequest, link: CalendarLink, secret: str) -> HttpResponse:
    """Show a link's address. The secret is in this one answer and nowhere else, so there is no redirect."""
    found = queries.addresses(secret)
    context = {"link": link, "addresses": found, "qr": qr_svg(found.webcal), "preview": None}
    try:
        context["preview"] = _preview(request, link)
    except Exception:
        # The address must be shown whatever happens: nobody can show it again.
        log.exception("calendar link %s could not be looked at", link.pk)
    return render(request, "web/links/made.html", context)


def _preview(request: FarmRequest, link: CalendarLink) -> Preview:
    edition = editions.of(link)
    row = services.build(edition, request.visit.by.now)
    return preview.of(bytes(row.octets), edition.written_in, request.visit.by.today)


def _shows(link: CalendarLink) -> str:
    """Return what a link shows, with the name of the housing or batch it is about."""
    name = queries.thing(editions.of(link))
    return f"{link.get_scope_display()}: {name}" if name else str(link.get_scope_display())


@never_cache
@require_safe
@farm_page()
def page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one link: what it holds as an app lists it, how it is written, and who asked last."""
    link = link_seen(request, pk)
    context = {
        "link": link,
        "shows": _shows(link),
        "in_language": next(
            (str(name) for code, name in _languages() if code == link.language), link.language
        ),
        "client": clients.called(link.last_client),
        "preview": _preview(request, link),
        "event_base": f"{reverse('calendar-link-event', args=[link.pk])}?uid=",
    }
    return render(request, "web/links/link.html", context)


def _languages() -> list[tuple[str, str]]:
    return list(settings.LANGUAGES)


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page()
def rotate(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then give a link a new address and show it once."""
    link = link_seen(request, pk)
    if request.method == "POST":
        new, secret = services.rotate_link(request.visit.by, link_id=pk)
        return _made(request, new, secret)
    return render(request, "web/links/rotate.html", {"link": link})


@require_http_methods(["GET", "POST"])
@farm_page()
def revoke(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then switch a link off."""
    link = link_seen(request, pk, on=False)
    if request.method == "POST":
        services.revoke_link(request.visit.by, link_id=pk)
        messages.success(request, _("“%(label)s” is switched off.") % {"label": link.label})
        return redirect("calendar-links")
    return render(request, "web/links/revoke.html", {"link": link})
