"""PROPFIND (RFC 4918 §9.1): properties of a place and, at depth 1, of what is right below it."""

from __future__ import annotations

from collections.abc import Iterator
from xml.etree import ElementTree as ET

from django.http import HttpResponse

from calendars.dav import lists, properties, xml
from calendars.dav.answers import Refused, Told, multistatus
from calendars.dav.places import Place
from calendars.dav.xml import DAV


def answer(place: Place, body: bytes, depth: str) -> HttpResponse:
    """Return 207. Raises Refused, and xml.Unreadable for what is no such request."""
    if depth not in ("0", "1"):
        raise Refused(f"{DAV}propfind-finite-depth", "Ask for depth 0 or 1.")
    asked, names_only = _asked(body)
    places = [place] if depth == "0" else [place, *below(place)]
    return multistatus(Told(one.path, properties.told(one, asked, names_only=names_only)) for one in places)


def below(place: Place) -> Iterator[Place]:
    """Yield what is right below a place."""
    if place.kind == "root":
        yield Place("home", place.guest)
    elif place.kind == "home":
        yield Place("list", place.guest, lists.fresh(place.guest.member, place.guest.by.now))
    elif place.kind == "list" and place.row is not None:
        for version in lists.held(place.row):
            yield Place("todo", place.guest, place.row, version)


def _asked(body: bytes) -> tuple[list[str] | None, bool]:
    """Return the properties asked for, None for all that are told unasked, and whether only names are wanted."""
    if not body.strip():
        return None, False
    root = xml.read(body)
    if root.tag != f"{DAV}propfind":
        raise xml.Unreadable("no propfind")
    if root.find(f"{DAV}propname") is not None:
        return None, True
    return asked_in(root), False


def asked_in(root: ET.Element) -> list[str] | None:
    """Return the tags in the DAV:prop of a request, None without one."""
    prop = root.find(f"{DAV}prop")
    return None if prop is None else xml.names(prop)
