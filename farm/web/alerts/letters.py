"""Letters to a farm's keepers, and word over their other channels: what they must hear, and what no longer holds."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import datetime, timedelta

from django.conf import settings
from django.core.mail import send_mail
from django.db import transaction
from django.template.loader import render_to_string
from django.urls import reverse
from django.utils.translation import override

from farm import wording
from farm.models import Alert, Farm, Member
from farm.models.member import Role
from farm.models.weather import AlertKind
from farm.queries import alerts as words
from farm.services import alerts, locks
from farm.services.reminders import alarms


def send(*, farm_id: int, now: datetime) -> int:
    """Write one letter to each keeper with a login about all that is new and all that is over; return how many.

    What a letter is about is marked before it is sent and unmarked when it could not be: then the job's error has it
    tried again. A farm without such a keeper has nobody to tell. Raises OSError when no letter could be sent.
    """
    farm = Farm.objects.filter(pk=farm_id).first()
    if farm is None:
        return 0
    keepers = list(
        Member.objects.filter(
            farm=farm, role=Role.KEEPER, login__isnull=False, left_on__isnull=True
        ).select_related("login")
    )
    with transaction.atomic():  # the other channels get it with the mark, or neither is there
        locks.farm(farm_id)
        new = _taken(alerts.to_tell(farm_id), "told_at", now)
        over = _taken(alerts.to_take_back(farm_id), "taken_back_at", now)
        worth_a_letter = [one for one in new if not _goes_on(one)]
        alarms.tell(farm=farm, new=worth_a_letter, over=over, now=now)
    if not (worth_a_letter or over):
        return 0
    try:
        return sum(_send(farm, keeper, worth_a_letter, over) for keeper in keepers)
    except OSError:  # smtplib's errors are OSErrors too
        Alert.objects.filter(pk__in=[one.pk for one in new]).update(told_at=None)
        Alert.objects.filter(pk__in=[one.pk for one in over]).update(taken_back_at=None)
        raise


def _goes_on(one: Alert) -> bool:
    """Say whether an alert only goes on with what was told of the day before: a cold spell is one letter, not ten."""
    before = Alert.objects.filter(farm_id=one.farm_id, kind=one.kind, batch=one.batch, housing=one.housing)
    told = before.filter(day=one.day - timedelta(days=1), told_at__isnull=False, told_at__lt=one.told_at)
    return one.kind != AlertKind.LOSSES and told.exists()


def _taken(rows: Iterable[Alert], name: str, now: datetime) -> list[Alert]:
    """Mark alerts as written about, and return those that no other worker had marked first."""
    mine = []
    for one in rows:
        if Alert.objects.filter(pk=one.pk, **{f"{name}__isnull": True}).update(**{name: now}):
            setattr(one, name, now)
            mine.append(one)
    return mine


def _send(farm: Farm, keeper: Member, new: list[Alert], over: list[Alert]) -> int:
    assert keeper.login is not None, "asked for those with a login"
    with override(keeper.login.language or settings.LANGUAGE_CODE):
        context = {
            "member": keeper,
            "farm": farm,
            "new": [wording.say(words.words(one), farm.units) for one in new],
            "over": [wording.say(words.title(one), farm.units) for one in over],
            "address": settings.ADDRESS + reverse("today"),
        }
        subject = render_to_string("web/alerts/subject.txt", context)
        body = render_to_string("web/alerts/letter.txt", context)
        return send_mail(" ".join(subject.split()), body, None, [keeper.login.email])
