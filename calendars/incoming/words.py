"""Why a calendar could not be read, in words for its member."""

from __future__ import annotations

from django.utils.translation import gettext as _

from farm.phrase import N_
from farm.services.channels import fetching

#: By key; those of `fetching` are among them.
WHY: dict[str, str] = {
    **fetching.WHY,
    "refused": N_(
        "The other side wants a sign-in. Look there for a secret or public address of the calendar."
    ),
    "missing": N_("There is no calendar at this address any more."),
    "status": N_("The other side answered with an error. It may be over in an hour."),
    "calendar": N_(
        "What is at this address is not a calendar (iCalendar, often ending in .ics), or a cut-off one."
    ),
    "many": N_("The calendar is too large or repeats too often to be read."),
    "broken": N_("Reading it went wrong here. It is tried again in an hour."),
    "sealed": N_("The address can't be read any more, because the server's key has changed. Enter it again."),
    "own": N_("That is a calendar of this very farm."),
    "twice": N_("This calendar is read for this member already."),
}


def of(why: str) -> str:
    """Return a reason in words, in the language in force."""
    return _(WHY.get(why, WHY["broken"]))
