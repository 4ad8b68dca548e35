"""sync-collection (RFC 6578): what changed in a list since a token, and what went."""

from __future__ import annotations

from xml.etree import ElementTree as ET

from django.http import HttpResponse

from calendars.dav import lists, properties, xml
from calendars.dav.answers import Refused, Told, multistatus
from calendars.dav.models import TodoVersion
from calendars.dav.places import Place
from calendars.dav.propfind import asked_in
from calendars.dav.xml import DAV, element


def answer(place: Place, root: ET.Element, depth: str) -> HttpResponse:
    """Return what changed and a new token.

    Raises Refused: valid-sync-token (who has an old token reads the whole list again), and
    number-of-matches-within-limits for who wants fewer than there are: a list is never told in parts.
    """
    # RFC 6578 §3.2 asks for depth 0; apps written after its drafts send 1 and mean the same.
    if depth not in ("", "0", "1"):
        raise xml.Unreadable("sync-collection is asked for at depth 0")
    row = place.row
    assert row is not None
    text = (root.findtext(f"{DAV}sync-token") or "").strip()
    since = lists.since(row, text) if text else -1
    if since is None:
        raise Refused(f"{DAV}valid-sync-token", "Read the whole list again.")
    changed = list(TodoVersion.objects.filter(todo_list=row, revision__gt=since).order_by("revision", "pk"))
    if not text:
        changed = [version for version in changed if version.gone_at is None]
    if (most := _most(root)) is not None and len(changed) > most:
        raise Refused(
            f"{DAV}number-of-matches-within-limits", "There is more than you asked for.", status=507
        )
    asked = asked_in(root)
    told = [_told(place, version, asked) for version in changed]
    return multistatus(told, element(f"{DAV}sync-token", lists.token(row)))


def _told(place: Place, version: TodoVersion, asked: list[str] | None) -> Told:
    one = Place("todo", place.guest, place.row, version)
    if version.gone_at is not None:
        return Told(one.path, status=404)
    return Told(one.path, properties.told_with_data(one, asked))


def _most(root: ET.Element) -> int | None:
    text = root.findtext(f"{DAV}limit/{DAV}nresults")
    if text is None:
        return None
    if not (text.strip().isascii() and text.strip().isdigit()):
        raise xml.Unreadable("nresults is no number")
    return int(text.strip()[:9])
