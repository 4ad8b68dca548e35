"""What a phone wrote down, perhaps without network, and sends later: each thing once, in its order, at its own time.

Every thing sent has a key of the phone's own. What it was answered is kept, so that a phone which never heard the
answer may send it again and change nothing. Each is a transaction of its own: one that is refused stops no other.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from farm.errors import BadInput, FarmError
from farm.models import Farm, Member, SentKey
from farm.services import locks, offline_verbs
from farm.services.actor import Actor, local_day
from farm.services.offline_known import Known

# All limits: project default (judgement).
MOST_ITEMS = 200  # in one request
MOST_KEY = 64  # characters
SKEW = timedelta(minutes=5)  # by which a phone's clock may be ahead
OLDEST = timedelta(days=30)
KEPT = timedelta(days=60)  # answers: longer than anything may be sent again

REFUSED = "refused"  # besides the outcomes of `offline_verbs`
KINDS = ("tick", "untick", "skip", "note", "died")
LINK_KINDS = ("tick", "untick", "note")


@dataclass(frozen=True, slots=True)
class Sent:
    """One thing a phone says.

    key: its own, up to MOST_KEY characters. kind: of KINDS. at: when it was written down, None for just now. source,
    due, round: the occurrence's identity, due None where it could not be read. title, minutes, proof: as the page had
    them (`services.shown`). photo: a picture for a tick. batch_id, housing_id, birds: of "died".
    """

    key: str
    kind: str
    at: datetime | None = None
    source: str = ""
    due: date | None = None
    round: str = ""
    title: str = ""
    minutes: int = 0
    proof: str = ""
    note: str = ""
    photo: bytes = b""
    batch_id: int = 0
    housing_id: int | None = None
    birds: int = 0


@dataclass(frozen=True, slots=True)
class Answer:
    """What becomes of one thing sent. status: done, already (somebody was quicker) or refused. text: what to say about
    it, "" when it went as expected."""

    key: str
    status: str
    text: str = ""


def accept(by: Actor, *, member: Member, sent: Sequence[Sent], over_link: bool = False) -> list[Answer]:
    """Write down what a member's phone sent, in its order, and return one answer each.

    over_link: they come by a personal link, which can do less: tick, untick and note the member's own chores. Raises
    BadInput for more than MOST_ITEMS at once.
    """
    if len(sent) > MOST_ITEMS:
        raise BadInput.at("", _("Too many at once: send at most %(most)d.") % {"most": MOST_ITEMS})
    known = Known(member, by.today, over_link=over_link)
    return [_once(by, member, each, known) for each in sent]


def forget_old(*, now: datetime) -> int:
    """Remove answers that no phone can ask for any more, and return how many."""
    return SentKey.objects.filter(at__lt=now - KEPT).delete()[0]


def kept_key(member: Member, key: str) -> str:
    """Return what a phone's key is kept as: nobody can take the key of somebody else's phone."""
    return hashlib.sha256(f"{member.pk}:{key}".encode()).hexdigest()


def _once(by: Actor, member: Member, sent: Sent, known: Known) -> Answer:
    if not 0 < len(sent.key) <= MOST_KEY:
        return Answer(sent.key[:MOST_KEY], REFUSED, _("This could not be read. Tick it again."))
    kept = kept_key(member, sent.key)
    before = SentKey.objects.filter(farm_id=by.farm_id, key=kept).first()
    if before is not None:
        return _again(sent, before)
    prepared = offline_verbs.prepared(
        sent
    )  # a picture is drawn anew before anybody has to wait for the farm's lock
    with transaction.atomic():
        farm = locks.farm(by.farm_id)
        before = SentKey.objects.filter(farm=farm, key=kept).first()
        if before is not None:
            return _again(sent, before)
        status, text = _tried(by, farm, member, replace(sent, key=kept), prepared, known)
        answer = {"status": status, "text": text}
        SentKey.objects.create(farm=farm, key=kept, answer=answer, at=by.now)
    return Answer(sent.key, status, text)


def _again(sent: Sent, before: SentKey) -> Answer:
    return Answer(sent.key, before.answer["status"], before.answer["text"])


def _tried(
    by: Actor, farm: Farm, member: Member, sent: Sent, prepared: offline_verbs.Prepared, known: Known
) -> tuple[str, str]:
    try:
        with transaction.atomic():
            then = _at_its_time(by, farm, sent)
            if sent.kind not in (LINK_KINDS if known.over_link else KINDS):
                raise BadInput.at("", _("Sign in to do this; the link is for ticking alone."))
            return offline_verbs.do(then, member, sent, prepared, known)
    except FarmError as refused:
        return REFUSED, str(refused)


def _at_its_time(by: Actor, farm: Farm, sent: Sent) -> Actor:
    """Return the actor as of when it was written down. Raises BadInput for a time that cannot be."""
    at = sent.at or by.now
    if at > by.now + SKEW:
        raise BadInput.at("at", _("The clock of your phone is ahead. Set it right and tick this again."))
    if at < by.now - OLDEST:
        raise BadInput.at("at", _("This was ticked more than 30 days ago; it is too late to send it."))
    at = min(at, by.now)
    return replace(by, now=at, today=local_day(farm, at))
