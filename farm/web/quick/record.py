"""An understood sentence, said back in words and handed to the service that records it."""

from __future__ import annotations

import hashlib
from datetime import datetime, time, timedelta
from zoneinfo import ZoneInfo

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm import wording
from farm.models import Farm, HistoryEntry
from farm.models.count_entry import CountKind
from farm.models.observation import ObservationKind
from farm.phrase import Quantity
from farm.services import counts, observations, stays
from farm.services.actor import Actor
from farm.trade import behaviours
from farm.web.quick.resolve import Target
from farm.web.quick.sentence import Sentence

TWICE = timedelta(minutes=5)  # project default (judgement)
UNITS = {"temperature": ("degC", 1), "weight": ("g", 0), "feed_left": ("kg", 1)}


def said(sentence: Sentence, target: Target, farm: Farm, today: object) -> str:
    """Return in words what recording the sentence would write."""
    what = _what(sentence, target, farm)
    about = ", ".join(str(one) for one in (target.batch, target.housing) if one)
    day = "" if sentence.day == today else _(" on %(day)s") % {"day": wording.day(sentence.day)}
    note = f" ({sentence.note})" if sentence.note and sentence.kind != ObservationKind.NOTE else ""
    return f"{about}: {what}{day}{note}" if about else f"{what}{day}{note}"


def record(by: Actor, sentence: Sentence, target: Target, farm: Farm, key: str) -> bool:
    """Write what the sentence says; return False when the same form had written it already.

    key: of the form it was typed in, so that sending it twice writes it once. Raises BadInput, NotAllowed.
    """
    batch = target.batch.pk if target.batch else None
    housing = target.housing.pk if target.housing else None
    key = _client_key(key, sentence, batch, housing)
    if sentence.verb == "move":
        stays.move(
            by,
            batch_id=batch or 0,
            from_id=housing or 0,
            to_id=target.to.pk if target.to else 0,
            birds=target.birds or 0,
            day=sentence.day,
        )
        return True
    if sentence.verb == "count":
        entry = counts.add(
            by,
            batch_id=batch or 0,
            kind=sentence.kind,
            birds=sentence.birds or 0,
            day=sentence.day,
            housing_id=housing,
            note=sentence.note[:200],
            client_key=key,
        )
        return entry.created_at == by.now
    seen = observations.add(
        by,
        kind=sentence.kind,
        batch_id=batch,
        housing_id=housing,
        at=_instant(by, sentence, farm),
        value=sentence.value,
        birds=sentence.birds,
        word=sentence.word,
        note=sentence.note,
        client_key=key,
    )
    return seen.at == _instant(by, sentence, farm)


def moved_lately(by: Actor, target: Target) -> bool:
    """Say whether the same member moved birds of the same batch a moment ago: a form sent twice looks like that."""
    assert target.batch is not None
    return HistoryEntry.objects.filter(
        farm_id=by.farm_id,
        member=by.member,
        verb="move",
        noun="batch",
        noun_id=target.batch.pk,
        at__gt=by.now - TWICE,
    ).exists()


def advice(sentence: Sentence) -> str:
    """Return what to do about a behaviour, "" for anything else."""
    known = behaviours.behaviours().get(sentence.word)
    return _(known.advice) if known else ""


def _what(sentence: Sentence, target: Target, farm: Farm) -> str:
    birds = target.birds or sentence.birds or 0
    if sentence.verb == "move":
        text = ngettext("move %(birds)d bird to %(to)s", "move %(birds)d birds to %(to)s", birds)
        return text % {"birds": birds, "to": target.to}
    if sentence.verb == "count":
        text = ngettext("%(birds)d bird %(kind)s", "%(birds)d birds %(kind)s", birds)
        return text % {"birds": birds, "kind": CountKind(sentence.kind).label}
    kind = str(ObservationKind(sentence.kind).label)
    if sentence.kind == ObservationKind.BEHAVIOUR:
        return f"{kind}: {_(behaviours.behaviours()[sentence.word].seen)}"
    if sentence.kind == ObservationKind.NOTE:
        return f"{kind}: {sentence.note}"
    unit, digits = UNITS[sentence.kind]
    value = wording.quantity(Quantity(sentence.value or 0.0, unit, digits), farm.units)
    if not sentence.birds:
        return f"{kind}: {value}"
    text = ngettext("%(value)s, mean of %(n)d bird", "%(value)s, mean of %(n)d birds", sentence.birds)
    return f"{kind}: {text % {'value': value, 'n': sentence.birds}}"


def _instant(by: Actor, sentence: Sentence, farm: Farm) -> datetime:
    """Return the instant something was seen: now, or noon of another day."""
    if sentence.day == by.today:
        return by.now
    return datetime.combine(sentence.day, time(12), ZoneInfo(farm.time_zone))


def _client_key(key: str, sentence: Sentence, batch: int | None, housing: int | None) -> str:
    if not key:
        return ""
    return hashlib.sha256(f"{key}/{sentence}/{batch}/{housing}".encode()).hexdigest()[:40]
