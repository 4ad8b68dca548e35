"""What the verbs of calendars read for days away share: whose they are, what is chosen, what history is told."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _

from calendars.incoming import queries, words
from calendars.incoming.models import OuterCalendar
from calendars.incoming.records import Rules
from farm.errors import BadInput, NotFound
from farm.models import Change, Member
from farm.queries import lookup
from farm.services.actor import Actor
from farm.services.channels import sealing
from farm.services.writing import Log

MOST = 5  # calendars of one member; project default (judgement)
#: The columns a member chooses.
_CHOSEN = ("label", "counts", "least_hours", "words", "without")


def of(by: Actor, calendar_id: int) -> OuterCalendar:
    """Return a calendar that the actor may set. Raises NotFound, also for somebody else's."""
    row = lookup.get(OuterCalendar, farm_id=by.farm_id, pk=calendar_id)
    if by.member is not None and not queries.seen_by(by.member).filter(pk=row.pk).exists():
        raise NotFound(_("There is no such %(thing)s on this farm.") % {"thing": row._meta.verbose_name})
    return row


def choose(row: OuterCalendar, chosen: dict[str, Any]) -> None:
    """Set what was chosen of a calendar."""
    for name in _CHOSEN:
        if name in chosen:
            value = chosen[name]
            setattr(row, name, value.strip() if isinstance(value, str) else value)


def rules(row: OuterCalendar) -> Rules:
    """Return which entries of a calendar count."""
    return queries.rules_of(row.counts, row.least_hours, row.words, row.without)


def room_for(member: Member, address: str) -> None:
    """Raise BadInput when a member has this calendar, or enough of them, already."""
    known = list(OuterCalendar.objects.filter(member=member))
    if any(_is_at(row, address) for row in known):
        raise BadInput.at("address", words.of("twice"))
    if len(known) >= MOST:
        raise BadInput.at("", _("That is enough: remove a calendar first."))


def _is_at(row: OuterCalendar, address: str) -> bool:
    try:
        return sealing.open_sealed(row.address) == address
    except sealing.SealBroken:
        return False


def plain(row: OuterCalendar) -> dict[str, object]:
    """Return what the history keeps of a calendar."""
    named = {name: getattr(row, name) for name in ("farm_id", "member_id", "on", "version")}
    return {"id": row.pk, **named}


def note(log: Log, row: OuterCalendar, *, before: dict | None, after: dict | None) -> None:
    """Tell the history of a calendar that was made, changed or removed."""
    log.changes.append(Change(model="outercalendar", row=row.pk, before=before, after=after))
