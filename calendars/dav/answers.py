"""What is answered: many statuses at once, refusals with the broken condition, and what every answer carries."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from xml.etree import ElementTree as ET

from django.http import HttpResponse

from calendars.dav.xml import CAL, DAV, OWN, element, href, written

ALLOW = "OPTIONS, GET, HEAD, PROPFIND, REPORT, PUT"
_XML = "application/xml; charset=utf-8"
_SAID = {200: "OK", 403: "Forbidden", 404: "Not Found", 507: "Insufficient Storage"}


class Refused(Exception):
    """A wish that is refused. condition: the broken one (RFC 4918 §16), as its element. said: the same in words."""

    def __init__(self, condition: str | ET.Element, said: str = "", status: int = 403) -> None:
        super().__init__(said)
        self.condition = element(condition) if isinstance(condition, str) else condition
        self.said = said
        self.status = status

    def response(self) -> HttpResponse:
        """Return the answer."""
        error = element(f"{DAV}error", self.condition)
        if self.said:
            error.append(element(f"{OWN}said", self.said))
        return HttpResponse(written(error), status=self.status, content_type=_XML)


def lacks(privilege: str, path: str, said: str = "") -> Refused:
    """Return the refusal of what needs a privilege (RFC 3744 §7.1.1) nobody has here: "bind", "unbind" …"""
    resource = element(
        f"{DAV}resource",
        href(path),
        element(f"{DAV}privilege", element(DAV + privilege)),
    )
    return Refused(element(f"{DAV}need-privileges", resource), said)


def only_ticks(said: str) -> Refused:
    """Return the refusal of an edit that is no tick."""
    return Refused(f"{OWN}only-ticks", said)


@dataclass(slots=True)
class Told:
    """What is told of one place: properties by status, or a status for the whole of it."""

    path: str
    properties: Mapping[int, list[ET.Element]] = field(default_factory=dict)
    status: int = 0

    def element(self) -> ET.Element:
        """Return its DAV:response."""
        made = element(f"{DAV}response", href(self.path))
        if self.status:
            made.append(_status(self.status))
        for status, found in self.properties.items():
            if found or (status == 200 and not any(self.properties.values())):
                made.append(element(f"{DAV}propstat", element(f"{DAV}prop", *found), _status(status)))
        return made


def multistatus(told: Iterable[Told], *more: ET.Element) -> HttpResponse:
    """Return 207 with what is told of each place, and what else stands beside."""
    root = element(f"{DAV}multistatus", *(one.element() for one in told), *more)
    return HttpResponse(written(root), status=207, content_type=_XML)


def headed(response: HttpResponse) -> HttpResponse:
    """Set what every answer carries."""
    response["DAV"] = "1, 3, calendar-access"
    response["Allow"] = ALLOW
    if response.status_code in (204, 304):
        del response["Content-Type"]  # RFC 9110 §8.6: nothing comes, and no length of it is said
    else:
        response.headers.setdefault("Content-Length", str(len(response.content)))
    response["Cache-Control"] = "private, no-cache"
    response["X-Robots-Tag"] = "noindex"
    response["Referrer-Policy"] = "no-referrer"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def plain(text: str, status: int) -> HttpResponse:
    """Return a line of text."""
    return HttpResponse(f"{text}\n", status=status, content_type="text/plain; charset=utf-8")


def no_data(condition: str, said: str) -> Refused:
    """Return the refusal of a calendar object by a condition of RFC 4791 §5.3.2.1."""
    return Refused(CAL + condition, said)


def _status(code: int) -> ET.Element:
    return element(f"{DAV}status", f"HTTP/1.1 {code} {_SAID[code]}")
