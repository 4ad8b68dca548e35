"""What rounds are called in calendars, and where they are."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.planning.agenda import Item

#: Readers and people lose themselves in more places than these.
_MOST_PLACES = 4


def name(key: str) -> str:
    """Return a round's name in words."""
    return {"morning": _("Morning round"), "midday": _("Midday round"), "evening": _("Evening round")}[key]


def many(chores: int) -> str:
    """Return "3 chores"."""
    return ngettext("%d chore", "%d chores", chores) % chores


def places(chores: Sequence[Item]) -> str:
    """Return the housings of a round in the order they come, shortened where there are many."""
    names = list(dict.fromkeys(chore.room_name for chore in chores if chore.room_name))
    more = [_("…")] if len(names) > _MOST_PLACES else []
    return ", ".join([*names[:_MOST_PLACES], *more])
