"""What someone saw: temperatures, behaviour, weights, feed left, notes."""

from __future__ import annotations

from datetime import datetime, timedelta

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch, Housing, Observation
from farm.models.member import Role
from farm.models.observation import ObservationKind
from farm.queries import lookup
from farm.services import counts, day_rules
from farm.services.actor import Actor
from farm.services.writing import write
from farm.trade import behaviours

#: Accepted values, in °C, g a bird and kg: project default (judgement); guards against a slip of the finger.
RANGES = {
    ObservationKind.TEMPERATURE: (-30.0, 50.0),
    ObservationKind.WEIGHT: (3.0, 25_000.0),
    ObservationKind.FEED_LEFT: (0.0, 1_500.0),
}


def add(
    by: Actor,
    *,
    kind: str,
    batch_id: int | None = None,
    housing_id: int | None = None,
    at: datetime | None = None,
    value: float | None = None,
    birds: int | None = None,
    word: str = "",
    note: str = "",
    client_key: str = "",
) -> Observation:
    """Record what was seen; `at` None means now. Values in °C, g a bird, kg. Raises BadInput by field."""
    with write(by, "observe", role=Role.CHILD) as log:
        known = client_key and Observation.objects.filter(farm_id=by.farm_id, client_key=client_key).first()
        if known:
            return known
        seen = Observation(
            farm=log.farm,
            batch=lookup.get_or_none(Batch, farm_id=by.farm_id, pk=batch_id),
            housing=lookup.get_or_none(Housing, farm_id=by.farm_id, pk=housing_id),
            kind=kind,
            at=at or by.now,
            value=value,
            birds=birds,
            word=word,
            note=note.strip(),
            member=by.member,
            client_key=client_key,
        )
        _check(by, seen)
        log.add(seen)
        about = seen.batch or seen.housing
        log.says(about, f"{about}: {describe(seen)}")
    return seen


def describe(seen: Observation) -> str:
    """Return the observation in words, values in SI."""
    kind = ObservationKind(seen.kind).label
    if seen.kind == ObservationKind.BEHAVIOUR:
        return f"{kind}: {_(behaviours.behaviours()[seen.word].seen)}"
    unit = {"temperature": "°C", "weight": "g", "feed_left": "kg"}.get(seen.kind, "")
    return f"{kind}: {seen.note}" if not unit else f"{kind}: {seen.value:g} {unit}"


def _check(by: Actor, seen: Observation) -> None:
    problems: dict[str, list[object]] = {}
    if seen.batch is None and seen.housing is None:
        problems["batch_id"] = [_("Choose a batch or a housing.")]
    if seen.at > by.now + timedelta(minutes=5):
        problems["at"] = [_("This time is still to come.")]
    elif by.now - seen.at > timedelta(days=day_rules.FAR_DAYS):
        problems["at"] = [_("That is more than a year ago. Check the year.")]
    if seen.birds is not None and not 1 <= seen.birds <= counts.MOST_BIRDS:
        problems["birds"] = [_("Enter a number from 1 to %(most)d.") % {"most": counts.MOST_BIRDS}]
    problems |= _check_seen(seen)
    if problems:
        raise BadInput(problems)


def _check_seen(seen: Observation) -> dict[str, list[object]]:
    """Return what is wrong with the kind and with the value, word or note that the kind asks for."""
    if seen.kind not in ObservationKind.values:
        return {"kind": [_("Choose what you saw.")]}
    if seen.kind == ObservationKind.BEHAVIOUR and seen.word not in behaviours.behaviours():
        return {"word": [_("Choose what they do.")]}
    if seen.kind == ObservationKind.NOTE and not seen.note:
        return {"note": [_("Write what you saw.")]}
    if seen.kind in RANGES:
        low, high = RANGES[ObservationKind(seen.kind)]
        if seen.value is None or not low <= seen.value <= high:
            return {"value": [_("Enter a number from %(low)g to %(high)g.") % {"low": low, "high": high}]}
    return {}
