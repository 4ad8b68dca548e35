"""The channels of a member: added, tried out, switched off, removed.

The history says that a channel was added or removed, never where it leads: what it keeps is not encrypted, and neither
an address nor its label would ever leave it again.
"""

from __future__ import annotations

import json
from datetime import timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from farm.errors import BadInput, NotFound
from farm.models import Change, Channel, Delivery, Member
from farm.models.member import Role
from farm.models.notice import ChannelKind, NoticeKind
from farm.queries import lookup
from farm.queries.reminders import Reader
from farm.services import channels, locks
from farm.services.actor import Actor
from farm.services.channels import sealing
from farm.services.channels.message import refused
from farm.services.reminders import making, sending, texts
from farm.services.reminders.making import Letter
from farm.services.reminders.sending import Clock
from farm.services.writing import Log, validate, write

MOST = 10  # channels of one member; project default (judgement)


def member_of(by: Actor, member_id: int) -> Member:
    """Return the member whose reminders the actor may set: themselves, or as a keeper somebody who can't sign in.

    Raises NotAllowed, NotFound.
    """
    member = lookup.get(Member, farm_id=by.farm_id, pk=member_id)
    if by.member is not None and by.member.pk != member.pk:
        by.require(Role.KEEPER)
        if member.login_id is not None:
            raise NotFound(_("Who can sign in sets their reminders themselves."))
    if member.left_on is not None:
        raise NotFound(_("This member has left the farm."))
    return member


def add(by: Actor, *, member_id: int, kind: str, address: str) -> Channel:
    """Add a channel, checked before anything is locked. The same one again is the one that is there, switched on.

    Raises ChannelRefused at "address", BadInput, NotAllowed, NotFound.
    """
    member = member_of(by, member_id)
    if kind not in ChannelKind.values:
        raise BadInput.at("kind", _("Choose a kind of channel."))
    address = address.strip()
    if not address:
        raise refused(_("Enter an address."))
    label = channels.of_kind(kind).check(address)
    with write(by, "add channel", role=Role.CHILD) as log:
        known = [
            one
            for one in Channel.objects.filter(farm=log.farm, member=member)
            if _is_same(one, kind, address)
        ]
        if known:  # a browser's keys may be new ones
            Channel.objects.filter(pk=known[0].pk).update(
                address=sealing.seal(address), failed_at=None, failure=""
            )
            return _switch(log, known[0], on=True)
        if Channel.objects.filter(farm=log.farm, member=member).count() >= MOST:
            raise BadInput.at("address", _("That is enough: remove a channel first."))
        row = Channel(
            farm=log.farm, member=member, kind=kind, label=label[:120], address=sealing.seal(address)
        )
        validate(row)
        row.save(force_insert=True)
        _note(log, row, before=None, after=_plain(row))
        log.says(row, _("%(member)s can be told by %(kind)s") % _words(row))
    return row


def switch(by: Actor, *, channel_id: int, on: bool) -> Channel:
    """Switch a channel on or off. Raises NotAllowed, NotFound."""
    row = of(by, channel_id)
    with write(by, "switch channel", role=Role.CHILD) as log:
        row = lookup.get(Channel, farm_id=by.farm_id, pk=row.pk)
        return _switch(log, row, on=on)


def remove(by: Actor, *, channel_id: int) -> None:
    """Remove a channel, and what still waited for it. Raises NotAllowed, NotFound."""
    row = of(by, channel_id)
    with write(by, "remove channel", role=Role.CHILD) as log:
        row = lookup.get(Channel, farm_id=by.farm_id, pk=row.pk)
        log.says(row.member, _("%(member)s is no longer told by %(kind)s") % _words(row))
        _note(log, row, before=_plain(row), after=None)
        row.delete()


def try_out(by: Actor, *, channel_id: int, now: Clock) -> Delivery:
    """Send a test over one channel, wait for it, and return how it went.

    Raises BadInput when the last one was less than a minute ago, NotAllowed, NotFound.
    """
    row = of(by, channel_id)
    with transaction.atomic():
        farm = locks.farm(by.farm_id)
        made = making.make(farm, [_test(by, row)], by.now, send=False)
        if not made:
            raise BadInput.at("", _("A test was just sent. Wait a minute for the next one."))
    delivery = Delivery.objects.get(farm_id=by.farm_id, notice=made[0], channel=row)
    sending.send(delivery.pk, now)
    delivery.refresh_from_db()
    return delivery


def of(by: Actor, channel_id: int) -> Channel:
    """Return a channel that the actor may set. Raises NotAllowed, NotFound."""
    row = lookup.get(Channel, farm_id=by.farm_id, pk=channel_id)
    member_of(by, row.member_id)
    return row


def _test(by: Actor, row: Channel) -> Letter:
    with texts.in_words_of(row.member):
        subject = _("A test from %(farm)s") % {"farm": row.member.farm.name}
        body = _("It works: reminders of your rounds will come this way.")
    key = f"{row.pk}/{by.now:%Y-%m-%dT%H:%M}"
    until = by.now + timedelta(minutes=2)
    return Letter(
        Reader(row.member, None, (row,)), NoticeKind.TEST, key, subject, body, texts.my_page(), by.now, until
    )


def _switch(log: Log, row: Channel, *, on: bool) -> Channel:
    if row.on != on:
        before = _plain(row)
        row.on = on
        row.save(update_fields=["on"])
        _note(log, row, before=before, after=_plain(row))
        text = _("%(member)s can be told by %(kind)s") if on else _("%(member)s is not told by %(kind)s")
        log.says(row, text % _words(row))
    return row


def _is_same(row: Channel, kind: str, address: str) -> bool:
    """Say whether a channel leads to the same place: of a browser's subscription, which comes as JSON, its address."""
    if row.kind != kind:
        return False
    try:
        known = sealing.open_sealed(row.address)
    except sealing.SealBroken:
        return False
    if kind == ChannelKind.PUSH:
        return json.loads(known).get("endpoint") == json.loads(address).get("endpoint")
    return known == address


def _plain(row: Channel) -> dict[str, object]:
    return {"id": row.pk, "farm_id": row.farm_id, "member_id": row.member_id, "kind": row.kind, "on": row.on}


def _note(log: Log, row: Channel, *, before: dict | None, after: dict | None) -> None:
    log.changes.append(Change(model="channel", row=row.pk, before=before, after=after))


def _words(row: Channel) -> dict[str, object]:
    return {"member": row.member, "kind": ChannelKind(row.kind).label}
