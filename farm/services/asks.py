"""What a chore asks for besides the tick; every face that ticks asks this one place."""

from __future__ import annotations

from django.utils.translation import gettext as _

from farm.models.own_chore import Asks


def lacking(asks: str, *, note: str, picture: bool) -> str:
    """Return what to say when a tick comes without what the chore asks for, "" when nothing lacks.

    Instead of a picture, a note saying why there is none will do: not every phone can take one.
    """
    if asks == Asks.NOTE and not note.strip():
        return _("This chore asks for a note. Write what you saw or did, then tick it.")
    if asks == Asks.PHOTO and not picture and not note.strip():
        return _("This chore asks for a picture. Add one, or write a note why there is none.")
    return ""
