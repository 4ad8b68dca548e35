"""What a task app sends back of a to-do, and what it asks for with that: a tick, its taking back, or a refusal."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.utils.translation import gettext as _
from icalendar import Calendar, Component

from calendars.dav.answers import no_data, only_ticks

#: What a task app may write as it likes: it is not the chore's, or we write it ourselves.
_FREE = frozenset(
    {
        *("DTSTAMP", "CREATED", "LAST-MODIFIED", "SEQUENCE"),
        *("STATUS", "COMPLETED", "PERCENT-COMPLETE"),
    }
)
#: Said without a meaning of its own.
_EMPTY = {"PRIORITY": "0", "CLASS": "PUBLIC"}
_REPEATING = ("RRULE", "RDATE", "EXDATE", "EXRULE", "RECURRENCE-ID")
_NEEDED = ("SUMMARY", "DESCRIPTION", "DUE")
MOST_EXTRAS = 30  # lines; project default (judgement)
MOST_EXTRA = 1_000  # characters of a line; project default (judgement)
_EXTRA = re.compile(r"(X-[A-Za-z0-9-]{1,60})[;:][^\x00-\x08\x0a-\x1f\x7f\x85\u2028\u2029\ufffe\uffff]*")


@dataclass(frozen=True, slots=True)
class Asked:
    """done: how the to-do is to stand, None as it does. extras: lines of the app's own, by name."""

    done: bool | None
    extras: Mapping[str, tuple[str, ...]]


def read(sent: bytes, ours: str) -> Asked:
    """Return what is asked for by sending `sent` where `ours` stands. Raises Refused for all but ticks."""
    now = Calendar.from_ical(ours).todos[0]
    text, theirs = _todo(sent)
    if any(name in theirs for name in _REPEATING):
        raise no_data("valid-calendar-object-resource", _("Repetition is set on the pages, not here."))
    if str(theirs.get("UID", "")) != str(now["UID"]):
        raise no_data("valid-calendar-object-resource", _("This is another to-do's."))
    if theirs.subcomponents:
        raise only_ticks(_("Reminders are set in the app, not in the list."))
    for name in theirs:
        if name not in _FREE and not name.startswith("X-") and not _same(name, now.get(name), theirs[name]):
            raise only_ticks(_("Only ticking is possible here; %s is changed on the pages.") % name)
    for name in _NEEDED:
        if name in now and name not in theirs:
            raise only_ticks(_("Only ticking is possible here; %s stays.") % name)
    return Asked(_done(theirs, str(now["STATUS"])), extras(text))


def _todo(sent: bytes) -> tuple[str, Component]:
    try:
        text = sent.decode()
        read = Calendar.from_ical(text)
    except (ValueError, KeyError, IndexError, TypeError, AttributeError, OverflowError) as error:
        raise no_data("valid-calendar-data", _("This could not be read.")) from error
    if not isinstance(read, Calendar) or read.name != "VCALENDAR":
        raise no_data("valid-calendar-data", _("This could not be read."))
    inside = [each for each in read.subcomponents if each.name != "VTIMEZONE"]
    if any(each.name != "VTODO" for each in inside):
        raise no_data("supported-calendar-component", _("Only to-dos are kept here."))
    if len(inside) != 1 or "METHOD" in read:
        raise no_data("valid-calendar-object-resource", _("Send one to-do at a time."))
    if inside[0].errors:
        raise no_data("valid-calendar-data", _("This could not be read."))
    return text, inside[0]


def _same(name: str, ours: Any, theirs: Any) -> bool:
    if isinstance(theirs, list):
        return False
    if ours is None:
        return str(_plain(theirs)).upper() in ("", _EMPTY.get(name, ""))
    return _plain(ours) == _plain(theirs)


def _plain(value: Any) -> object:
    """Return a value as it compares: an instant whatever its zone is called, a text whatever its blanks."""
    if hasattr(value, "dt"):
        found = value.dt
        if isinstance(found, datetime):
            return found.timestamp() if found.tzinfo else found
        return found
    if hasattr(value, "cats"):
        return sorted(str(each) for each in value.cats)
    return " ".join(str(value).split())


def _done(theirs: Component, was: str) -> bool | None:
    """Return how it is to stand. Apps say it in three ways, and some leave the other two as they were."""
    status = _plain(theirs.get("STATUS", ""))
    percent = _plain(theirs.get("PERCENT-COMPLETE", ""))
    signs = [status == "COMPLETED", "COMPLETED" in theirs, percent == "100"]
    if was == status == "CANCELLED":
        return None
    if status not in ("", "NEEDS-ACTION", "COMPLETED"):
        raise only_ticks(_("A chore is done or open here, nothing between."))
    if was == "COMPLETED":
        return status == "COMPLETED" or (status == "" and any(signs))
    if not any(signs) and percent not in ("", "0"):
        raise only_ticks(_("A chore is done or open here, nothing between."))
    return any(signs)


def extras(text: str) -> dict[str, tuple[str, ...]]:
    """Return the lines of a to-do that only its app understands, unfolded, by name. Raises Refused for too many."""
    found: dict[str, tuple[str, ...]] = {}
    for line in re.sub(r"\r?\n[ \t]", "", text).splitlines():
        match = _EXTRA.fullmatch(line)
        if match is None:
            continue
        if len(line) > MOST_EXTRA or sum(map(len, found.values())) >= MOST_EXTRAS:
            raise no_data("max-resource-size", _("This is too much to be kept with a chore."))
        name = match[1].upper()
        found[name] = (*found.get(name, ()), line)
    return found
