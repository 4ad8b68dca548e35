"""Building what is published: once for each content, under the farm's lock; and drafts that nobody stores."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime

from django.conf import settings
from django.db import transaction
from django.utils.translation import override

from calendars import colours, entries, publish, queries, topics, versions, whose
from calendars.editions import Edition
from calendars.ics import PUBLISHED, Body, Limits
from calendars.models import CalendarBody, EntryVersion
from farm.models import Member
from farm.planning.window import Window
from farm.queries import agenda, agenda_records
from farm.services import locks


def refresh(farm_id: int, now: datetime) -> int:
    """Build every edition of a farm that is in use and out of date; return how many were built. Run twice, it
    builds none the second time. What no link shows any more is removed. Raises NotFound.
    """
    with transaction.atomic():
        locks.farm(farm_id)
        live = queries.live_editions(farm_id, now)
        names = [edition.name for edition in live]
        for model in (CalendarBody, EntryVersion):
            model._default_manager.filter(farm_id=farm_id).exclude(edition__in=names).delete()
    stale = [edition for edition in live if not _is_fresh(edition, now)]
    for edition in stale:
        build(edition, now)
    return len(stale)


def build(edition: Edition, now: datetime) -> CalendarBody:
    """Return the edition's body as of `now`, built and stored if it is out of date.

    One transaction under the farm's lock: of two builders at once, the second finds the first one's work.
    """
    with transaction.atomic():
        farm = locks.farm(edition.farm.pk)
        # Their name and role, too, as of now: what is read before the lock is of before the version that is built.
        member = edition.member and Member.objects.get(pk=edition.member.pk)
        edition = replace(edition, farm=farm, member=member)
        today = edition.today(now)
        known = CalendarBody.objects.filter(farm=farm, edition=edition.name).first()
        if known is not None and known.key == edition.key(today):
            return known
        settled, body = _written(edition, today, now)
        _keep(edition, settled, edition.window(today).start)
        row, _made = CalendarBody.objects.update_or_create(
            farm=farm,
            edition=edition.name,
            defaults={
                "key": edition.key(today),
                "etag": body.etag,
                "octets": body.octets,
                "zipped": body.gzipped(),
                "built_at": now,
            },
        )
        return row


def draft(edition: Edition, now: datetime, limits: Limits = PUBLISHED) -> Body:
    """Return the body an edition would have, and store nothing: what a page shows before a link is made, or a copy."""
    return _written(edition, edition.today(now), now, limits)[1]


def _written(
    edition: Edition, today: date, now: datetime, limits: Limits = PUBLISHED
) -> tuple[versions.Settled, Body]:
    farm, window = edition.farm, edition.window(today)
    records = agenda_records.read(farm, window, today)
    about = topics.holds(edition.scope, edition.about)
    items = [item for item in records.agenda(window) if about(item)]
    rota = whose.read(farm, edition.member, items, today)
    since = min((item.occurrence[1] for item in items), default=window.start)
    marks = agenda.marks(farm, Window(since, (window.end - since).days))
    states = {key: mark.state for key, mark in marks.items()}
    with override(edition.language):
        reader = publish.reader(
            edition,
            settings.ADDRESS,
            rota,
            orders=queries.orders_of_lines(farm),
            feathered=colours.feathered_days(records.batches),
        )
        found = entries.entries(items, states, reader, now)
        settled = versions.settle(
            found,
            {row.uid: row for row in EntryVersion.objects.filter(farm=farm, edition=edition.name)},
            window,
            today,
            now,
            planned=frozenset(entries.uids(items, reader)),
            zone=farm.time_zone,
        )
    given_until = rota.out.end if rota.out else None
    thing = queries.thing(edition)
    return settled, publish.body(edition, settled.entries, today, given_until, thing, limits)


def _keep(edition: Edition, settled: versions.Settled, first: date) -> None:
    for version in settled.new:
        version.farm, version.edition = edition.farm, edition.name
    EntryVersion.objects.bulk_create(settled.new, batch_size=200)
    fields = ["digest", "timing", "sequence", "changed_at", "outline", "day", "cancelled_at"]
    EntryVersion.objects.bulk_update(settled.changed, fields, batch_size=100)
    EntryVersion.objects.filter(farm=edition.farm, edition=edition.name, day__lt=first).delete()


def _is_fresh(edition: Edition, now: datetime) -> bool:
    known = queries.stored(edition)
    return known is not None and known.key == edition.key(edition.today(now))
