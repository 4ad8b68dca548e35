"""The printed card of a housing, and the page its QR code opens."""

from __future__ import annotations

import segno
from django.conf import settings
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse
from django.utils.safestring import mark_safe
from django.utils.translation import gettext
from django.utils.translation import gettext as _
from django.views.decorators.http import require_safe

from farm.errors import NotFound
from farm.models import Housing
from farm.planning.window import Window
from farm.queries import lookup, occupancy
from farm.trade import cautions, species
from farm.web.access import FARM_KEY, FarmRequest, farm_page, memberships
from farm.web.housing import rooms
from farm.web.housing.forms import SEEN_FORMS

_AHEAD_DAYS = 60


@require_safe
@farm_page()
def opened(request: FarmRequest, code: str) -> HttpResponse:
    """Show the housing whose card was scanned, with what one does standing before it.

    A card of another of the login's farms switches to that farm; anybody else's card is simply not found.
    """
    login = request.visit.by.login
    mine = [member.farm_id for member in memberships(login)] if login else []
    housing = Housing.objects.filter(code=code, farm_id__in=mine).first()
    if housing is None:
        raise NotFound(_("There is no such housing on your farms."))
    if housing.farm_id != request.visit.farm.pk:
        request.session[FARM_KEY] = housing.farm_id
        return redirect("housing-card", code)
    farm, today = request.visit.farm, request.visit.by.today
    sheet = occupancy.for_farm(farm, Window(today, _AHEAD_DAYS), today)
    context = {
        "housing": housing,
        "today": today,
        "now": rooms.on(sheet, str(housing.pk), today),
        "seen_forms": [form(farm=farm, auto_id=f"{kind}-%s") for kind, form in SEEN_FORMS.items()],
        "next": "card",
    }
    return render(request, "web/housing/card.html", context)


@require_safe
@farm_page()
def printed(request: FarmRequest, pk: int) -> HttpResponse:
    """Show the card to print and hang at the door: its name, its rules and its QR code."""
    housing = lookup.get(Housing, farm_id=request.visit.farm.pk, pk=pk)
    address = settings.ADDRESS.rstrip("/") + reverse("housing-card", args=[housing.code])
    context = {
        "housing": housing,
        "address": address,
        "qr": qr_svg(address),
        "species": ", ".join(gettext(species.species()[key].plural) for key in housing.species),
        "cautions": [cautions.cautions()["heat_lamp"]],
    }
    return render(request, "web/housing/printed.html", context)


def qr_svg(text: str) -> str:
    """Return `text` as a QR code in one inline SVG without style or script, with the margin readers need."""
    code = segno.make(text, error="m", micro=False)
    drawn = code.svg_inline(border=4, omitsize=True, svgclass="qr", lineclass=None, light="#ffffff")
    return mark_safe(drawn)  # drawn by us from our own address
