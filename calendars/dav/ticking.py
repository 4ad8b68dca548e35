"""PUT on a to-do: ticked, taken back, or refused with the condition that it breaks."""

from __future__ import annotations

from collections.abc import Mapping

from django.db import transaction
from django.utils.translation import gettext as _

from calendars.dav import asked, lists, places
from calendars.dav.answers import Refused, lacks, no_data, only_ticks
from calendars.dav.guests import Guest
from calendars.dav.models import TodoVersion
from calendars.dav.properties import MOST_OCTETS
from calendars.dav.xml import DAV
from farm import wording
from farm.errors import FarmError
from farm.models.chore_mark import MarkState
from farm.queries import agenda
from farm.queries.agenda import Due
from farm.services import asks, chores, locks


class Stale(Exception):
    """The to-do is not as the app knew it."""


def put(guest: Guest, name: str, sent: bytes, if_match: str, if_none_match: str) -> None:
    """Do what a task app asks for by sending a to-do back. Raises Refused, and Stale for 412.

    All of it under the farm's lock: what was compared is what is written.
    """
    if len(sent) > MOST_OCTETS:
        raise no_data("max-resource-size", _("This is too large for a to-do."))
    with transaction.atomic():
        locks.farm(guest.farm.pk)
        row = lists.fresh(guest.member, guest.by.now)
        version = lists.held(row).filter(name=name).first()
        _check_conditions(version, if_match, if_none_match)
        if version is None:
            raise lacks("bind", places.list_path(guest), _("New chores are made on the pages, not here."))
        wish = asked.read(sent, version.body)
        due = agenda.find(guest.farm, version.source, version.due, version.round, guest.by.today)
        if due is None:
            raise only_ticks(_("This is not due any more."))
        try:
            _do(guest, due, wish.done)
        except FarmError as error:
            raise lacks("write-content", places.todo_path(guest, name), str(error)) from error
        lists.keep_extras(version, _merged(version.extras, wish.extras))


def _check_conditions(version: TodoVersion | None, if_match: str, if_none_match: str) -> None:
    etag = version.etag if version is not None else None
    if if_match and (etag is None or not _names(if_match, etag)):
        raise Stale
    if if_none_match and etag is not None and _names(if_none_match, etag):
        raise Stale


def _names(header: str, etag: str) -> bool:
    """Say whether a condition names a tag, by the strong comparison (RFC 9110 §8.8.3.2)."""
    return header.strip() == "*" or etag in (tag.strip() for tag in header.split(","))


def _do(guest: Guest, due: Due, done: bool | None) -> None:
    """Bring an occurrence to where it is wanted. Raises Refused, FarmError."""
    item, mark = due.item, due.mark
    source, first_due, round = item.occurrence
    stands = mark is not None and mark.state == MarkState.DONE
    if done is None or (done == stands and (mark is None or stands)):
        return
    if mark is not None and not stands:
        raise only_ticks(_("This was left out on purpose. Open it again on its page."))
    if not done:
        assert mark is not None
        if mark.member_id != guest.member.pk:
            who = mark.member or _("Somebody else")
            raise only_ticks(_("%(who)s ticked this; open it again on its page.") % {"who": who})
        chores.unmark(guest.by, source=source, due=first_due, round=round)
        return
    if lacking := asks.lacking(item.asks, note="", picture=False):
        raise only_ticks(lacking)
    chores.mark(
        guest.by,
        source=source,
        due=first_due,
        round=round,
        title=wording.say(item.title, guest.farm.units),
        minutes=item.minutes,
    )


def _merged(known: str, sent: Mapping[str, tuple[str, ...]]) -> str:
    """Return what is kept of apps' own lines: what is sent replaces its like, and the rest, another app's, stays."""
    kept = asked.extras(known)
    if sum(map(len, {**kept, **sent}.values())) > asked.MOST_EXTRAS:
        raise no_data("max-resource-size", _("This is too much to be kept with a chore."))
    return "\n".join(line for lines in {**kept, **sent}.values() for line in lines)


def refused(method: str, path: str) -> Refused:
    """Return why a method other than those of a reading and ticking app is refused."""
    if method == "PROPPATCH":
        return Refused(f"{DAV}cannot-modify-protected-property", _("The list is named on the pages."))
    needed = {"DELETE": "unbind", "MOVE": "unbind", "ACL": "write-acl", "LOCK": "write-content"}
    needed |= {"UNLOCK": "unlock", "PATCH": "write-content", "POST": "bind"}
    said = {
        "DELETE": _("A chore is left out on its page, with a reason."),
    }.get(method, _("Only ticking is possible here."))
    return lacks(needed.get(method, "bind"), path, said)
