"""Answers kept in memory, so that asking again costs one query and no building, writing or unpacking.

An answer depends on its link, member, login and farm, on what is stored of its edition, and on the day. What of those
can change is one row of one query: every write raises the farm's version, the rest stands beside it. While the row and
the day are the very same, so is the answer; nothing ever has to be told to forget.
"""

from __future__ import annotations

from collections import OrderedDict
from dataclasses import dataclass
from datetime import date, datetime
from threading import Lock
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.db import connection

from calendars.editions import Edition
from calendars.models import CalendarBody, CalendarLink
from farm.models import Farm, Login, Member

MOST_OCTETS = 16_000_000  # kept by one process; project default (judgement)
_ROW = f"""
SELECT farm.version, link.revoked_at, member.left_on, login.is_active, body.key, body.etag,
    link.last_used_on, link.last_client
FROM {CalendarLink._meta.db_table} link
JOIN {Farm._meta.db_table} farm ON farm.id = link.farm_id
JOIN {Member._meta.db_table} member ON member.id = link.member_id
LEFT JOIN {Login._meta.db_table} login ON login.id = member.login_id
LEFT JOIN {CalendarBody._meta.db_table} body ON body.farm_id = link.farm_id AND body.edition = %s
WHERE link.token_sha256 = %s
"""

Row = tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class Kept:
    """A calendar as it was last sent. tag: without the mark of an encoding. octets: None when only the tag is known."""

    edition: str
    zone: ZoneInfo
    day: date
    client: str
    row: Row
    tag: str
    octets: bytes | None


_kept: OrderedDict[tuple[str, bool], Kept] = OrderedDict()
_lock = Lock()


def find(token_sha256: str, client: str, now: datetime, *, zipped: bool) -> Kept | None:
    """Return what was last sent over a link in an encoding, if it still is what would be sent. One query at most."""
    with _lock:
        kept = _kept.get((_place(token_sha256), zipped))
    if kept is None or kept.client != client or kept.day != now.astimezone(kept.zone).date():
        return None
    return kept if _row(token_sha256, kept.edition) == kept.row else None


def keep(
    token_sha256: str,
    client: str,
    edition: Edition,
    today: date,
    tag: str,
    octets: bytes | None,
    *,
    zipped: bool,
) -> None:
    """Keep an answer made from `edition`, unless anything it depends on has changed since that was read.

    A link that is going to end is not kept: it would end without a change. The oldest go when there is too much.
    """
    row = _row(token_sha256, edition.name)
    if row is None or row[1] is not None or row[2] is not None or row[3] not in (None, True, 1):
        return
    if row[0] != edition.farm.version or row[4] != edition.key(today) or row[5] != tag:
        return
    place = (_place(token_sha256), zipped)
    with _lock:
        _kept[place] = Kept(edition.name, edition.zone, today, client, row, tag, octets)
        _kept.move_to_end(place)
        while len(_kept) > 1 and sum(len(one.octets or b"") for one in _kept.values()) > MOST_OCTETS:
            _kept.popitem(last=False)


def _row(token_sha256: str, edition: str) -> Row | None:
    with connection.cursor() as cursor:
        cursor.execute(_ROW, [edition, token_sha256])
        found: Row | None = cursor.fetchone()
        return found


def _place(token_sha256: str) -> str:
    """Return where a link is kept: by its secret's hash, in this database, under the address calendars carry."""
    return f"{connection.settings_dict['NAME']} {settings.ADDRESS} {token_sha256}"
