"""What a phone's queue is sent to, as JSON, and the fresh token it needs before."""

from __future__ import annotations

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.middleware.csrf import get_token
from django.utils.translation import gettext as _
from django.views.decorators.http import require_POST, require_safe

from farm.errors import BadInput
from farm.services import offline
from farm.web.my import brake, reading
from farm.web.my.doors import Door, by_link, signed_in


@require_POST
def sync(request: HttpRequest, door: Door) -> HttpResponse:
    """Take a queue and answer each of its things.

    400: no queue. 409: somebody else's. 413: too large. 429: too many in a minute, with the seconds to wait.
    """
    try:
        who, sent = reading.of_request(request)
    except reading.TooLarge as error:
        return _refused(str(error), 413)
    except BadInput as error:
        return _refused(str(error), 400)
    if who != door.who:
        return _refused(_("This was written down by somebody else, who has to sign in to send it."), 409)
    if len(sent) > offline.MOST_ITEMS:
        return _refused(_("Too many at once: send at most %(most)d.") % {"most": offline.MOST_ITEMS}, 413)
    wait = brake.sending(door.who, max(1, len(sent)))
    if wait:
        response = _refused(_("Too many ticks at once. Wait a minute."), 429)
        response.headers["Retry-After"] = str(wait)
        return response
    answers = offline.accept(door.by, member=door.member, sent=sent, over_link=door.link is not None)
    return JsonResponse(
        {"answers": [{"key": each.key, "status": each.status, "text": each.text} for each in answers]}
    )


def _refused(text: str, status: int) -> HttpResponse:
    return JsonResponse({"text": text}, status=status)


@require_safe
def token(request: HttpRequest, door: Door) -> HttpResponse:
    """Answer who is signed in, and a token for what they send: that of a page kept for days is stale."""
    response = JsonResponse({"who": door.who, "token": get_token(request)})
    response.headers["Cache-Control"] = "private, no-store"
    return response


my_sync = signed_in(sync)
my_sync_by_link = by_link(sync)
my_token = signed_in(token)
