"""Personal links of a member: made, shown once, switched off."""

from __future__ import annotations

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from farm.errors import NotFound
from farm.models import PersonalLink
from farm.queries import lookup
from farm.services import personal_links
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.housing.card import qr_svg
from farm.web.mishaps import shown_in
from farm.web.people.forms import LinkForm

_BOTH = ["GET", "POST"]


@never_cache
@require_http_methods(_BOTH)
@farm_page()
def links(request: FarmRequest, pk: int) -> HttpResponse:
    """List a member's personal links and make a new one. Keepers for anybody, others for themselves."""
    visit = request.visit
    member = personal_links.of(visit.by, pk)
    form = LinkForm(request.POST if request.method == "POST" else None, farm=visit.farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            secret = personal_links.make(visit.by, member_id=pk, **form.values())
        if form.is_valid():
            # The secret is in this one answer and nowhere else, so there is no redirect.
            address = f"{settings.ADDRESS}/my/{secret}/"
            context = {"member": member, "label": form.cleaned_data["label"], "address": address}
            return render(request, "web/people/link_made.html", context | {"qr": qr_svg(address)})
    found = list(member.personal_links.all())
    context = {
        "form": form,
        "member": member,
        "live": [link for link in found if link.revoked_at is None],
        "off": [link for link in found if link.revoked_at is not None],
    }
    return render(request, "web/people/links.html", context)


@require_http_methods(_BOTH)
@farm_page()
def off(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then switch a personal link off."""
    visit = request.visit
    link = lookup.get(PersonalLink, farm_id=visit.farm.pk, pk=pk)
    if not personal_links.may_have(visit.by, link.member_id):
        raise NotFound(_("There is no such %(thing)s on this farm.") % {"thing": link._meta.verbose_name})
    form, done = ask_first(request, lambda: personal_links.revoke(visit.by, link_id=pk))
    if done:
        messages.success(request, _("“%(label)s” is switched off.") % {"label": link.label})
        return redirect("member-links", link.member_id)
    return render(request, "web/people/link_off.html", {"form": form, "link": link, "member": link.member})
