"""A browser that will show messages hands its subscription over."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse, JsonResponse
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST

from farm.errors import BadInput
from farm.models.notice import ChannelKind
from farm.services.reminders import own_channels
from farm.web.access import FarmRequest, farm_page

MOST_BYTES = 4000  # of a subscription; project default (judgement)


@require_POST
@farm_page()
def subscribe(request: FarmRequest) -> HttpResponse:
    """Add the browser's subscription (JSON, as the browser writes it) to one's own channels. Answers {"why": ""}."""
    visit = request.visit
    body = request.body
    try:
        if len(body) > MOST_BYTES:
            raise BadInput.at("address", _("This browser's subscription can't be used."))
        address = body.decode("utf-8", errors="replace")
        own_channels.add(visit.by, member_id=visit.member.pk, kind=ChannelKind.PUSH, address=address)
    except BadInput as refused:
        return JsonResponse({"why": str(refused)}, status=422)
    messages.success(request, _("This browser will show your messages. Send a test to see one."))
    return JsonResponse({"why": ""})
