"""What is told of each place: the root, a member's home (their principal too), their list, one to-do."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from xml.etree import ElementTree as ET

from django.utils.http import http_date
from django.utils.translation import gettext as _

from calendars.dav import lists
from calendars.dav.models import TodoList, TodoVersion
from calendars.dav.places import Place, home_path
from calendars.dav.xml import CAL, CS, DAV, element, href
from calendars.ics import clean

MOST_OCTETS = 64 * 1024  # of one to-do; project default (judgement)
#: Told only where they are asked for by name: RFC 4791 §5.2, RFC 6578 §4.
_UNASKED = frozenset(
    {
        *(
            f"{DAV}{name}"
            for name in ("supported-report-set", "sync-token", "current-user-principal", "owner")
        ),
        *(f"{DAV}{name}" for name in ("current-user-privilege-set", "principal-URL")),
        *(f"{CAL}{name}" for name in ("calendar-description", "supported-calendar-component-set")),
        *(f"{CAL}{name}" for name in ("supported-calendar-data", "max-resource-size", "calendar-home-set")),
        f"{CAL}calendar-data",
        f"{CS}getctag",
    }
)


def told(
    place: Place, asked: Sequence[str] | None, *, names_only: bool = False
) -> dict[int, list[ET.Element]]:
    """Return the properties asked for, by status 200 or 404. None: all that are told unasked."""
    known = _OF[place.kind]
    if names_only:
        return {200: [element(tag) for tag in known]}
    wanted = [tag for tag in known if tag not in _UNASKED] if asked is None else asked
    found: dict[int, list[ET.Element]] = {200: [], 404: []}
    for tag in wanted:
        if tag in known:
            found[200].append(element(tag, *known[tag](place)))
        else:
            found[404].append(element(tag))
    return found


def _kinds(*tags: str) -> Callable[[Place], list[ET.Element]]:
    return lambda place: [element(tag) for tag in tags]


def _privileges(*names: str) -> Callable[[Place], list[ET.Element]]:
    names = ("read", "read-current-user-privilege-set", *names)
    return lambda place: [element(f"{DAV}privilege", element(DAV + name)) for name in names]


def _reports(place: Place) -> list[ET.Element]:
    tags = (f"{CAL}calendar-query", f"{CAL}calendar-multiget", f"{DAV}sync-collection")
    return [element(f"{DAV}supported-report", element(f"{DAV}report", element(tag))) for tag in tags]


def _principal(place: Place) -> list[ET.Element]:
    return [href(home_path(place.guest))]


def _list_name(place: Place) -> list[str]:
    farm, member = place.guest.farm.name, place.guest.member.name
    return [clean(f"{farm}: {member}", 200, lines=False)]


def _row(place: Place) -> TodoList:
    assert place.row is not None
    return place.row


def _version(place: Place) -> TodoVersion:
    assert place.version is not None
    return place.version


_Properties = dict[str, Callable[[Place], Sequence[ET.Element | str]]]
_EVERYWHERE: _Properties = {f"{DAV}current-user-principal": _principal, f"{DAV}owner": _principal}
_OF: dict[str, _Properties] = {
    "root": {
        f"{DAV}resourcetype": _kinds(f"{DAV}collection"),
        f"{DAV}displayname": lambda place: ["Featherdays"],
        f"{DAV}current-user-privilege-set": _privileges(),
        f"{DAV}current-user-principal": _principal,
    },
    "home": _EVERYWHERE
    | {
        f"{DAV}resourcetype": _kinds(f"{DAV}collection", f"{DAV}principal"),
        f"{DAV}displayname": lambda place: [clean(place.guest.member.name, 200, lines=False)],
        f"{DAV}principal-URL": _principal,
        f"{CAL}calendar-home-set": _principal,
        f"{DAV}current-user-privilege-set": _privileges(),
    },
    "list": _EVERYWHERE
    | {
        f"{DAV}resourcetype": _kinds(f"{DAV}collection", f"{CAL}calendar"),
        f"{DAV}displayname": _list_name,
        f"{DAV}sync-token": lambda place: [lists.token(_row(place))],
        f"{CS}getctag": lambda place: [lists.token(_row(place))],
        f"{DAV}supported-report-set": _reports,
        f"{DAV}current-user-privilege-set": _privileges("write-content"),
        f"{CAL}calendar-description": lambda place: [_("What you have to do, for ticking.")],
        f"{CAL}supported-calendar-component-set": lambda place: [element(f"{CAL}comp", name="VTODO")],
        f"{CAL}supported-calendar-data": lambda place: [
            element(f"{CAL}calendar-data", **{"content-type": "text/calendar", "version": "2.0"})
        ],
        f"{CAL}max-resource-size": lambda place: [str(MOST_OCTETS)],
    },
    "todo": _EVERYWHERE
    | {
        f"{DAV}resourcetype": _kinds(),
        f"{DAV}getetag": lambda place: [_version(place).etag],
        f"{DAV}getcontenttype": lambda place: ["text/calendar; charset=utf-8; component=VTODO"],
        f"{DAV}getcontentlength": lambda place: [str(len(_version(place).body.encode()))],
        f"{DAV}getlastmodified": lambda place: [http_date(_version(place).changed_at.timestamp())],
        f"{DAV}current-user-privilege-set": _privileges("write-content"),
    },
}
#: In reports a to-do's text is asked for like a property; PROPFIND does not know it (RFC 4791 §9.6).
WITH_DATA = f"{CAL}calendar-data"


def told_with_data(place: Place, asked: Sequence[str] | None) -> dict[int, list[ET.Element]]:
    """Return the same for a report, where the text of a to-do may be asked for too."""
    found = told(place, None if asked is None else [tag for tag in asked if tag != WITH_DATA])
    if asked is not None and WITH_DATA in asked:
        found[200].append(element(WITH_DATA, _version(place).body))
    return found
