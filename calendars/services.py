"""The verbs of the calendars: make and switch off a link, build what is published."""

from __future__ import annotations

import secrets
from collections.abc import Sequence
from datetime import date, datetime

from django.conf import settings
from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import override

from calendars import editions, entries, publish, queries, versions, whose
from calendars.editions import Edition
from calendars.models import CalendarBody, CalendarLink, EntryVersion, Scope
from calendars.whose import Whose
from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Member
from farm.models.member import Role
from farm.planning.agenda import Item
from farm.planning.window import Window
from farm.queries import agenda, lookup
from farm.services import locks
from farm.services.actor import Actor
from farm.services.writing import write

SECRET_BYTES = 24  # 192 bits
MOST_LINKS = 20  # live ones a member; project default (judgement)


def make_link(
    by: Actor, *, member_id: int, label: str, scope: str = Scope.MINE, language: str = ""
) -> tuple[CalendarLink, str]:
    """Make a calendar link for a member and return it with its secret, which is never to be seen again.

    A keeper may make one for anybody on the farm, others for themselves. Give the secret to
    `queries.addresses`. Raises BadInput by field, NotAllowed, NotFound.
    """
    with write(by, "make calendar link", role=Role.CHILD) as log:
        member = _for_member(by, member_id)
        if scope not in queries.scopes_for(member):
            raise BadInput.at("scope", _("A child's calendar holds what a child may help with."))
        if queries.links_of(member).filter(revoked_at__isnull=True).count() >= MOST_LINKS:
            raise BadInput.at(
                "", _("There are %d links already. Switch off one that is not used.") % MOST_LINKS
            )
        secret = secrets.token_urlsafe(SECRET_BYTES)
        link = CalendarLink(
            farm=log.farm,
            member=member,
            scope=scope,
            label=label.strip(),
            token_sha256=queries.token_hash(secret),
            language=_language(language),
            created_at=by.now,
        )
        log.add(link)
        log.says(
            member,
            _("Calendar link “%(label)s” made for %(member)s") % {"label": link.label, "member": member},
        )
    return link, secret


def revoke_link(by: Actor, *, link_id: int) -> CalendarLink:
    """Switch a link off at once; switching it off twice is once. Raises NotFound, also for one that is not
    yours.
    """
    with write(by, "switch calendar link off", role=Role.CHILD) as log:
        link = lookup.get(CalendarLink, farm_id=by.farm_id, pk=link_id)
        if by.member is not None and not queries.links_seen_by(by.member).filter(pk=link.pk).exists():
            raise NotFound(_("There is no such %(thing)s on this farm.") % {"thing": link._meta.verbose_name})
        if link.revoked_at is None:
            log.change(link, revoked_at=by.now)
            log.says(link.member, _("Calendar link “%(label)s” switched off") % {"label": link.label})
    return link


def used(link: CalendarLink, today: date) -> None:
    """Note the day a link was last used: one write a day at most."""
    if link.last_used_on is None or link.last_used_on < today:
        CalendarLink.objects.filter(pk=link.pk).exclude(last_used_on__gte=today).update(last_used_on=today)


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
        edition = Edition(farm, edition.member, edition.language)
        today = edition.today(now)
        known = CalendarBody.objects.filter(farm=farm, edition=edition.name).first()
        if known is not None and known.key == edition.key(today):
            return known
        items = agenda.for_farm(farm, editions.window(today), today)
        rota = whose.read(farm, edition.member, items, today)
        with override(edition.language):
            settled = _settled(edition, items, rota, today, now)
        _keep(edition, settled, editions.window(today).start)
        body = publish.body(edition, settled.entries, today, rota.out.end if rota.out else None)
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


def _settled(
    edition: Edition, items: Sequence[Item], rota: Whose, today: date, now: datetime
) -> versions.Settled:
    window = editions.window(today)
    since = min((item.occurrence[1] for item in items), default=window.start)
    marks = agenda.marks(edition.farm, Window(since, (window.end - since).days))
    states = {key: mark.state for key, mark in marks.items()}
    reader = publish.reader(edition, settings.ADDRESS, rota)
    found = entries.entries(items, states, reader, now)
    known = {row.uid: row for row in EntryVersion.objects.filter(farm=edition.farm, edition=edition.name)}
    still_planned = frozenset(entries.uids(items, reader))
    return versions.settle(found, known, window, today, now, planned=still_planned)


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


def _for_member(by: Actor, member_id: int) -> Member:
    member = lookup.get(Member, farm_id=by.farm_id, pk=member_id)
    if member.left_on is not None:
        raise NotFound(_("This member has left the farm."))
    if by.member is not None and by.member.pk != member.pk and by.member.role != Role.KEEPER:
        raise NotAllowed(_("Only a keeper may make a calendar link for somebody else."))
    return member


def _language(asked: str) -> str:
    known = [code for code, _name in settings.LANGUAGES]
    if asked and asked not in known:
        raise BadInput.at("language", _("This language is not offered."))
    return asked or settings.LANGUAGE_CODE
