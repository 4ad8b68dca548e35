"""Calendar links: made, shown once, switched off."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from calendars import queries, services
from calendars.models import CalendarLink
from calendars.pages.forms import LinkForm
from farm.errors import NotFound
from farm.web.access import FarmRequest, farm_page
from farm.web.mishaps import shown_in


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page()
def links(request: FarmRequest) -> HttpResponse:
    """List the links a member may see (a keeper: all of the farm's), and make a new one."""
    form = LinkForm(request.POST if request.method == "POST" else None, visit=request.visit)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            link, secret = services.make_link(request.visit.by, **form.values())
        if form.is_valid():
            # The secret is in this one answer and nowhere else, so there is no redirect.
            context = {"link": link, "addresses": queries.addresses(secret)}
            return render(request, "web/links/made.html", context)
    seen = list(queries.links_seen_by(request.visit.member).select_related("member"))
    context = {
        "form": form,
        "live": [link for link in seen if link.revoked_at is None and link.member.left_on is None],
        "off": [link for link in seen if link.revoked_at is not None or link.member.left_on is not None],
    }
    return render(request, "web/links/links.html", context)


@require_http_methods(["GET", "POST"])
@farm_page()
def revoke(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then switch a link off."""
    link = queries.links_seen_by(request.visit.member).filter(pk=pk).first()
    if link is None:
        raise NotFound(
            _("There is no such %(thing)s on this farm.") % {"thing": CalendarLink._meta.verbose_name}
        )
    if request.method == "POST":
        services.revoke_link(request.visit.by, link_id=pk)
        messages.success(request, _("“%(label)s” is switched off.") % {"label": link.label})
        return redirect("calendar-links")
    return render(request, "web/links/revoke.html", {"link": link})
