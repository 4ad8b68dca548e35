"""A member's list, settled: each to-do with the version of its content, and what is gone since when.

A list is brought up to date when it is asked for, if its farm changed or a new day began. Nothing else moves it.
"""

from __future__ import annotations

import hashlib
import secrets
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta

from django.conf import settings
from django.db import transaction
from django.db.models import Max, QuerySet
from django.utils.translation import override

from calendars.dav import items
from calendars.dav.items import Held
from calendars.dav.models import TodoList, TodoVersion
from farm.models import Member
from farm.services import locks
from farm.services.actor import local_day

GONE_DAYS = 30  # how long an app may stay away and still hear what went; project default (judgement)
#: Raise when the same content would be written differently, so that stored texts are written again.
FORMAT = 1
_FIELDS = ["digest", "timing", "sequence", "changed_at", "etag", "body", "revision", "gone_at"]


def fresh(member: Member, now: datetime) -> TodoList:
    """Return the member's list as of `now`, settled and stored if it is out of date."""
    known = TodoList.objects.select_related("farm").filter(member=member).first()
    if known is not None and known.key == _key(member, known.farm.version, now):
        return known
    with transaction.atomic():
        farm = locks.farm(member.farm_id)
        # Read again: their role may have changed while this waited for the lock.
        member = Member.objects.select_related("farm", "login").get(pk=member.pk)
        row, _made = TodoList.objects.get_or_create(
            member=member, defaults={"farm": farm, "made": secrets.token_hex(8)}
        )
        key = _key(member, farm.version, now)
        if row.key != key:
            with override(language(member)):
                wanted = items.of_member(member, local_day(farm, now))
            _settle(row, wanted, now.astimezone(UTC).replace(microsecond=0))
            row.key = key
            row.save()
        return row


def held(row: TodoList) -> QuerySet[TodoVersion]:
    """Return what a list holds now."""
    return TodoVersion.objects.filter(todo_list=row, gone_at__isnull=True).order_by("pk")


def keep_extras(version: TodoVersion, extras: str) -> None:
    """Keep lines of a task app's own with a to-do; its text is written again at the next look."""
    if extras != version.extras:
        TodoVersion.objects.filter(pk=version.pk).update(extras=extras)
        TodoList.objects.filter(pk=version.todo_list_id).update(key="")


def token(row: TodoList) -> str:
    """Return the sync token of a list as it is now: a URI, as RFC 6578 §3.2 asks for."""
    return f"data:,{row.made}-{row.revision}"


def since(row: TodoList, text: str) -> int | None:
    """Return the revision a token stands for; None when what was removed since is not known."""
    made, _dash, number = text.strip().removeprefix("data:,").partition("-")
    if made != row.made or not (number.isascii() and number.isdigit()) or len(number) > 18:
        return None
    return int(number) if row.floor <= int(number) <= row.revision else None


def _key(member: Member, version: int, now: datetime) -> str:
    today = local_day(member.farm, now).isoformat()
    parts = (FORMAT, version, today, member.pk, language(member), settings.ADDRESS)
    return hashlib.sha256(repr(parts).encode()).hexdigest()


def language(member: Member) -> str:
    """Return the language a member's list is written in: their login's, if it has one we offer."""
    asked = member.login.language if member.login is not None else ""
    return asked if asked in dict(settings.LANGUAGES) else settings.LANGUAGE_CODE


def _settle(row: TodoList, wanted: Mapping[str, Held], now: datetime) -> None:
    """Compare what is wanted with what was last told, and give all that differs one new revision."""
    known = {version.name: version for version in TodoVersion.objects.filter(todo_list=row)}
    revision = row.revision + 1
    new, changed = [], []
    for name, one in wanted.items():
        version = known.get(name)
        digest = one.todo.digest(version.extras if version else "")
        if version is None:
            source, due, round = one.occurrence
            version = TodoVersion(
                farm_id=row.farm_id, todo_list=row, name=name, source=source, due=due, round=round
            )
            version.changed_at = now
            new.append(version)
        elif version.gone_at is not None or version.digest != digest:
            # Whole seconds are all a stamp can say; two changes within one still have to differ.
            version.changed_at = max(now, version.changed_at + timedelta(seconds=1))
            version.sequence += version.timing != one.todo.timing()
            changed.append(version)
        else:
            continue
        _write(version, one, digest, revision)
    for name in known.keys() - wanted.keys():
        if known[name].gone_at is None:
            known[name].body = known[name].etag = ""
            known[name].gone_at, known[name].revision = now, revision
            changed.append(known[name])
    TodoVersion.objects.bulk_create(new, batch_size=100)
    TodoVersion.objects.bulk_update(changed, _FIELDS, batch_size=50)
    if new or changed:
        row.revision = revision
    _forget(row, now)


def _write(version: TodoVersion, one: Held, digest: str, revision: int) -> None:
    version.digest, version.timing = digest, one.todo.timing()
    octets = one.todo.octets(version.changed_at, version.sequence, version.extras.splitlines())
    version.body = octets.decode()
    version.etag = f'"{hashlib.sha256(octets).hexdigest()[:32]}"'
    version.revision, version.gone_at = revision, None


def _forget(row: TodoList, now: datetime) -> None:
    """Drop what went long ago; who was away for longer is told to read the whole list again."""
    old = TodoVersion.objects.filter(todo_list=row, gone_at__lt=now - timedelta(days=GONE_DAYS))
    last = old.aggregate(Max("revision"))["revision__max"]
    if last is not None:
        old.delete()
        row.floor = max(row.floor, last)
