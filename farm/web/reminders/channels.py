"""The buttons of one channel: try it out, switch it on or off, remove it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from farm.errors import BadInput
from farm.models.notice import DeliveryState
from farm.services.reminders import own_channels
from farm.web import clock
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.reminders.views import page_of


@require_POST
@farm_page()
def test(request: FarmRequest, pk: int) -> HttpResponse:
    """Send a test over a channel, and say how it went."""
    row = own_channels.of(request.visit.by, pk)
    try:
        delivery = own_channels.try_out(request.visit.by, channel_id=pk, now=clock.now)
    except BadInput as refused:
        messages.error(request, str(refused))
        return page_of(request, row.member_id)
    if delivery.state == DeliveryState.SENT:
        messages.success(request, _("Sent to %(channel)s. Look whether it has arrived.") % {"channel": row})
    else:
        messages.error(
            request, _("Not sent to %(channel)s: %(why)s") % {"channel": row, "why": delivery.error}
        )
    return page_of(request, row.member_id)


@require_POST
@farm_page()
def switch(request: FarmRequest, pk: int) -> HttpResponse:
    """Switch a channel on (`on=1`) or off."""
    row = own_channels.switch(request.visit.by, channel_id=pk, on=request.POST.get("on") == "1")
    text = _("%(channel)s is in use.") if row.on else _("%(channel)s is switched off.")
    messages.success(request, text % {"channel": row})
    return page_of(request, row.member_id)


@require_http_methods(["GET", "POST"])
@farm_page()
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a channel."""
    row = own_channels.of(request.visit.by, pk)
    form, done = ask_first(request, lambda: own_channels.remove(request.visit.by, channel_id=pk))
    if done:
        messages.success(request, _("Removed: %(channel)s.") % {"channel": row})
        return page_of(request, row.member_id)
    own = row.member_id == request.visit.member.pk
    return render(request, "web/reminders/remove.html", {"channel": row, "form": form, "own": own})
