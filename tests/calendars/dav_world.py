"""What the tests of task apps stand on: Hollow Farm with a batch, its people, and an app that signs in."""

from __future__ import annotations

import base64
from dataclasses import dataclass, field
from datetime import datetime
from xml.etree import ElementTree as ET

import icalendar
import time_machine
from django.http import HttpResponse
from django.test import Client

from calendars.dav import passwords
from calendars.dav.items import name_of
from calendars.dav.models import AppPassword
from farm.models import Member
from farm.planning.rota.records import Key
from farm.services.actor import Actor
from tests.conftest import NOON, World

D, C, CS, F = (
    "{DAV:}",
    "{urn:ietf:params:xml:ns:caldav}",
    "{http://calendarserver.org/ns/}",
    "{featherdays:dav}",
)
_SPACES = 'xmlns:d="DAV:" xmlns:c="urn:ietf:params:xml:ns:caldav" xmlns:cs="http://calendarserver.org/ns/"'


@dataclass
class TaskApp:
    """A task app that holds one app password. at: its clock."""

    member: Member
    password: AppPassword
    secret: str
    at: datetime = NOON
    address: str = "192.0.2.5"
    more: dict[str, str] = field(default_factory=dict)

    @property
    def user(self) -> str:
        return passwords.user_name(self.member)

    @property
    def home(self) -> str:
        return f"/dav/{self.user}/"

    @property
    def list(self) -> str:
        return f"{self.home}rounds/"

    def path(self, key: Key) -> str:
        return f"{self.list}{name_of(key)}.ics"

    def ask(self, method: str, path: str, body: str | bytes = b"", **headers: str) -> HttpResponse:
        signed = base64.b64encode(f"{self.user}:{self.secret}".encode()).decode()
        named = {"authorization": f"Basic {signed}"}
        named |= {name.replace("_", "-"): value for name, value in headers.items()}
        with time_machine.travel(self.at, tick=False):
            return Client().generic(
                method, path, body, content_type="application/xml", headers=named, REMOTE_ADDR=self.address
            )

    def propfind(self, path: str, *props: str, depth: str = "0") -> dict[str, dict[str, ET.Element]]:
        """Return the properties with status 200, by address and tag."""
        inside = "".join(f"<{prop}/>" for prop in props)
        body = f"<d:propfind {_SPACES}><d:prop>{inside}</d:prop></d:propfind>" if props else ""
        return told(self.ask("PROPFIND", path, body, depth=depth))

    def report(self, body: str, depth: str = "1", path: str | None = None, status: int = 207) -> HttpResponse:
        response = self.ask("REPORT", path or self.list, spaced(body), depth=depth)
        assert response.status_code == status, response.content
        return response

    def query(self, inside: str = "") -> set[str]:
        """Return the addresses of to-dos that match a comp-filter."""
        wanted = f'<c:comp-filter name="VCALENDAR"><c:comp-filter name="VTODO">{inside}</c:comp-filter></c:comp-filter>'
        return set(told(self.report(query(wanted))))

    def sync(self, token: str = "") -> tuple[set[str], set[str], str]:
        """Return what changed, what went, and the new token."""
        root = ET.fromstring(self.report(sync(token), depth="0").content)
        changed, gone = set(), set()
        for one in root.iter(f"{D}response"):
            where = gone if one.find(f"{D}status") is not None else changed
            where.add(one.findtext(f"{D}href"))
        return changed, gone, root.findtext(f"{D}sync-token") or ""

    def get(self, key: Key) -> HttpResponse:
        return self.ask("GET", self.path(key))

    def put(self, key: Key, body: str | bytes, **headers: str) -> HttpResponse:
        return self.ask("PUT", self.path(key), body, **headers)

    def todo(self, key: Key) -> icalendar.Todo:
        return icalendar.Calendar.from_ical(self.get(key).content).todos[0]

    def tick(self, key: Key, **headers: str) -> HttpResponse:
        return self.put(key, ticked(self.get(key).content.decode()), **headers)


def an_app(by: Actor, label: str = "phone") -> TaskApp:
    """Return a task app with a new password of the actor's own."""
    assert by.member is not None
    return TaskApp(by.member, *passwords.make(by, member_id=by.member.pk, label=label))


def spaced(body: str) -> str:
    """Return a request body whose root element knows the prefixes."""
    name = body[1:].split(">")[0].split()[0].rstrip("/")
    return body.replace(f"<{name}", f"<{name} {_SPACES}", 1)


def query(filter_: str, props: str = "<d:getetag/>") -> str:
    return f"<c:calendar-query><d:prop>{props}</d:prop><c:filter>{filter_}</c:filter></c:calendar-query>"


def sync(token: str, more: str = "") -> str:
    inside = f"<d:sync-token>{token}</d:sync-token><d:sync-level>1</d:sync-level>{more}"
    return f"<d:sync-collection>{inside}<d:prop><d:getetag/></d:prop></d:sync-collection>"


def told(response: HttpResponse) -> dict[str, dict[str, ET.Element]]:
    assert response.status_code == 207, (response.status_code, response.content)
    found: dict[str, dict[str, ET.Element]] = {}
    for one in ET.fromstring(response.content).iter(f"{D}response"):
        props = found.setdefault(one.findtext(f"{D}href") or "", {})
        for stat in one.iter(f"{D}propstat"):
            if " 200 " in (stat.findtext(f"{D}status") or ""):
                props |= {prop.tag: prop for prop in stat.find(f"{D}prop") or ()}
    return found


def condition(response: HttpResponse) -> str:
    """Return the broken condition a refusal names."""
    assert response["Content-Type"].startswith("application/xml"), response.content
    error = ET.fromstring(response.content)
    assert error.tag == f"{D}error"
    return error[0].tag


def ticked(body: str) -> str:
    """Return a to-do as most apps tick it."""
    done = "STATUS:COMPLETED\r\nCOMPLETED:20260501T100000Z\r\nPERCENT-COMPLETE:100\r\n"
    return body.replace("STATUS:NEEDS-ACTION\r\n", done)


def opened(body: str) -> str:
    """Return a to-do as most apps open it again."""
    kept = [line for line in body.split("\r\n") if not line.startswith(("COMPLETED", "PERCENT-COMPLETE"))]
    return "\r\n".join(kept).replace("STATUS:COMPLETED", "STATUS:NEEDS-ACTION")


def with_lines(body: str, *lines: str) -> str:
    return body.replace("END:VTODO", "\r\n".join([*lines, "END:VTODO"]))


def planted(world: World) -> World:
    """Put 40 layer chicks of 14 days into Brooder 1."""
    world.add_batch("Spring", housing="Brooder 1")
    return world
