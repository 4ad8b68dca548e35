"""What comes along and what stays behind, in a keeper's words."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _

from farm.phrase import N_
from farm.queries.archives import shape

#: What a keeper would ask for, and the kinds of records that hold it.
_ALONG: Mapping[str, tuple[str, ...]] = {
    N_("batches and housings, with every count, stay and observation"): (
        *("batch", "housing", "countentry", "stay", "observation"),
    ),
    N_("machines, egg sets and intakes"): ("machine", "eggset", "eggentry", "intake", "supplier"),
    N_("orders and hand-overs"): ("order", "orderline", "orderseries", "filling", "hold"),
    N_("feed in the store and days to wait after a medicine"): ("feed", "feedentry", "waitingtime"),
    N_("people, the rota and what was ticked"): (
        *("member", "away", "assignment", "choremark", "ownchore", "swap", "pin", "postponement"),
    ),
    N_("pictures"): ("markphoto",),
    N_("plans and proposals"): ("plan", "settingproposal"),
    N_("the whole history, to undo as before"): ("historyentry",),
}
#: What a keeper would miss, and the kinds of records that hold it: the reason is theirs.
_BEHIND = (
    (N_("Logins."), "member.login"),
    (N_("Calendar links, personal links, invitations and passwords of apps."), "calendarlink"),
    (N_("E-mail, push services and browsers that get messages."), "channel"),
    (N_("People's own calendars that are read for days away."), "outercalendar"),
    (N_("The forecast, headroom and finished calendars."), "forecast"),
)


def comes_along(counts: Mapping[str, int]) -> list[tuple[str, int]]:
    """Return what goes into the file, each with how many records it is."""
    return [(_(text), sum(counts[noun] for noun in nouns)) for text, nouns in _ALONG.items()]


def behind() -> list[tuple[str, str]]:
    """Return what does not go into the file, each with its reason."""
    return [(_(text), _(shape.STAYS_BEHIND[noun])) for text, noun in _BEHIND]
