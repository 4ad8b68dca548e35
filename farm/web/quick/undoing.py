"""The way back from what quick entry recorded: one link in the message that says it."""

from __future__ import annotations

from django.urls import reverse
from django.utils.html import format_html
from django.utils.translation import gettext as _

from farm.models import HistoryEntry
from farm.models.member import Role
from farm.web.access import Visit


def recorded(visit: Visit, told: str) -> str:
    """Return the message that `told` was recorded by this visit just now, with a link to undo it if the member may."""
    text = _("Recorded: %(what)s.") % {"what": told}
    address = _way_back(visit)
    return format_html('{} <a href="{}">{}</a>', text, address, _("Undo")) if address else text


def _way_back(visit: Visit) -> str:
    """A keeper undoes anything; a helper takes back a count; a child asks one of them."""
    entry = HistoryEntry.objects.filter(
        farm=visit.farm, member=visit.member, at=visit.by.now, undoes=None
    ).first()
    if entry is None or visit.member.role == Role.CHILD:
        return ""
    if visit.is_keeper:
        return reverse("history-entry", args=[entry.pk])
    line = entry.changes.filter(model="countentry").first()
    return reverse("batch-count-reverse", args=[line.row]) if line else ""
