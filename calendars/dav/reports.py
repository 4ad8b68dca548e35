"""REPORT on a list: calendar-query and calendar-multiget (RFC 4791 §7.8, §7.9), sync-collection (RFC 6578)."""

from __future__ import annotations

from collections.abc import Iterator
from urllib.parse import unquote, urlsplit
from xml.etree import ElementTree as ET

from django.http import HttpResponse

from calendars.dav import filters, lists, places, properties, syncing, xml
from calendars.dav.answers import Refused, Told, multistatus
from calendars.dav.places import Place
from calendars.dav.propfind import asked_in
from calendars.dav.xml import CAL, DAV


def answer(place: Place, body: bytes, depth: str) -> HttpResponse:
    """Return 207. Raises Refused, and xml.Unreadable for what is no report."""
    root = xml.read(body)
    if root.tag == f"{CAL}calendar-multiget" and place.kind in ("list", "todo"):
        return multistatus(_many(place, root))
    if root.tag == f"{CAL}calendar-query" and place.kind in ("list", "todo"):
        return multistatus(_found(place, root, depth))
    if root.tag == f"{DAV}sync-collection" and place.kind == "list":
        return syncing.answer(place, root, depth)
    raise Refused(f"{DAV}supported-report", "This report is not made here.")


def _many(place: Place, root: ET.Element) -> Iterator[Told]:
    asked = asked_in(root)
    assert place.row is not None
    versions = {version.name: version for version in lists.held(place.row)}
    for href in root.iter(f"{DAV}href"):
        path = (href.text or "").strip()
        version = versions.get(_name(place, path))
        if version is None:
            yield Told(path, status=404)
        else:
            one = Place("todo", place.guest, place.row, version)
            yield Told(one.path, properties.told_with_data(one, asked))


def _found(place: Place, root: ET.Element, depth: str) -> Iterator[Told]:
    wanted = root.find(f"{CAL}filter")
    if wanted is None:
        raise Refused(f"{CAL}valid-filter", "A query needs a filter.")
    asked, zone = asked_in(root), place.guest.farm.time_zone
    matches = filters.compiled(wanted, zone)
    for one in _scope(place, depth):
        assert one.version is not None
        if matches(one.version.body):
            yield Told(one.path, properties.told_with_data(one, asked))


def _scope(place: Place, depth: str) -> Iterator[Place]:
    """Yield the to-dos a query looks at: at depth 0 the place alone, where it is one (RFC 4791 §7.8)."""
    assert place.row is not None
    if place.kind == "todo":
        yield place
    elif depth != "0":
        for version in lists.held(place.row):
            yield Place("todo", place.guest, place.row, version)


def _name(place: Place, path: str) -> str:
    """Return the file name an address of this list has, "" for another's."""
    path = unquote(urlsplit(path).path)
    inside = path.removeprefix(places.list_path(place.guest))
    return "" if inside == path or not inside.endswith(".ics") else inside.removesuffix(".ics")
