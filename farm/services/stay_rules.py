"""What must hold of one stay with its batch, its housing and its neighbours, said in words when it does not.

`since`: days before it are not judged. What is long past stays as it was when a rule is tightened today; None judges
every day of the stay.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm import wording
from farm.errors import BadInput
from farm.husbandry import heat, out_words
from farm.models import Batch, Stay
from farm.queries import heads, programmes, weather
from farm.services import day_rules
from farm.trade import mixing

_OLDEST_DAY = 400  # no programme asks for heat this late


def check_fields(stay: Stay) -> None:
    """Raise BadInput, all fields at once, for a stay that is wrong by itself: birds, days, arrival."""
    problems: dict[str, list[object]] = {}
    if stay.birds < 1:
        problems["birds"] = [_("Enter at least 1 bird.")]
    if stay.start < stay.batch.arrived_on:
        arrives = day_rules.shown(stay.batch.arrived_on)
        problems["start"] = [_("The batch only arrives on %(day)s.") % {"day": arrives}]
    if stay.end is not None and stay.end <= stay.start:
        problems["end"] = [_("A stay must end after it starts.")]
    if problems:
        raise BadInput(problems)


def check_species(stay: Stay, since: date | None = None) -> None:
    """Raise BadInput when the housing is kept for other species."""
    allowed = stay.housing.species
    if allowed and stay.batch.species not in allowed and _first(stay, since) is not None:
        raise BadInput.at("housing_id", _("%(housing)s is not for this species.") % {"housing": stay.housing})


def check_service(stay: Stay, since: date | None = None) -> None:
    """Raise BadInput when the housing is not in use on all days of the stay."""
    housing, first = stay.housing, _first(stay, since)
    if first is None:
        return
    if housing.in_service_from is not None and first < housing.in_service_from:
        raise BadInput.at(
            "start",
            _("%(housing)s is in use from %(day)s only.")
            % {"housing": housing, "day": day_rules.shown(housing.in_service_from)},
        )
    if housing.in_service_to is not None and (stay.end is None or stay.end > housing.in_service_to):
        raise BadInput.at(
            "end",
            _("%(housing)s is in use until %(day)s only. End the stay by then.")
            % {"housing": housing, "day": day_rules.shown(housing.in_service_to)},
        )


def check_heat(stay: Stay, since: date | None = None) -> None:
    """Raise BadInput when birds that need heat would be without, and no reason is recorded."""
    first = _first(stay, since)
    if first is None or stay.housing.heated or stay.override_reason.strip():
        return
    if _needs_heat(stay.batch, first):
        programme = programmes.of(stay.batch)
        until = next(day for day in range(_OLDEST_DAY) if not heat.needs_heat(programme, [day])[0])
        raise BadInput.at(
            "override_reason",
            _(
                "%(housing)s has no heat, and these birds need it until %(day)s. Write the reason if you mean it."
            )
            % {"housing": stay.housing, "day": day_rules.shown(stay.batch.hatch_day + timedelta(days=until))},
        )


def check_outdoors(stay: Stay) -> None:
    """Raise BadInput when birds would live outdoors before the nights are warm enough, and no reason is recorded.

    Only of a stay as it is written: the weather changes by itself, and what was agreed is not judged by it again.
    """
    housing, batch = stay.housing, stay.batch
    if housing.indoor or stay.override_reason.strip():
        return
    sky = weather.of(batch.farm)
    if sky is None:
        return
    programme, shelter = programmes.of(batch), weather.shelter_of(housing)
    held = sky.held_back(programme, batch.hatch_day, shelter)
    if held is not None and stay.start < held:
        why = wording.say(out_words.explain(sky.night(programme, batch.hatch_day, shelter)), batch.farm.units)
        text = _(
            "Nights in %(housing)s are too cold for them so early. %(why)s Write the reason if you mean it."
        )
        raise BadInput.at("override_reason", text % {"housing": housing, "why": why})


def check_neighbours(stay: Stay, since: date | None = None) -> None:
    """Raise BadInput when another batch in the same housing on the same days must not be there."""
    first = _first(stay, since)
    if first is None:
        return
    check_alone(stay, since)
    for other in _overlapping(stay, first).select_related("batch__programme_version"):
        meet = max(first, other.start)
        names = {"housing": stay.housing, "other": other.batch, "start": day_rules.shown(meet)}
        brooding = any(_needs_heat(batch, meet) for batch in (stay.batch, other.batch))
        rule = mixing.mixing().apart(stay.batch.species, other.batch.species, brooding)
        if rule is not None:
            text = _("The birds of %(other)s are in %(housing)s on %(start)s.")
            raise BadInput.at("housing_id", f"{text % names} {_(rule.text)}.")


def check_alone(stay: Stay, since: date | None = None) -> None:
    """Raise BadInput when a housing that takes one batch at a time would have two; the database refuses it too."""
    first = _first(stay, since)
    if first is None or not (stay.one_batch or stay.housing.one_batch):
        return
    for other in _overlapping(stay, first).select_related("batch"):
        names = {
            "housing": stay.housing,
            "other": other.batch,
            "start": day_rules.shown(max(first, other.start)),
        }
        text = _("%(housing)s takes one batch at a time, and %(other)s is there on %(start)s.")
        raise BadInput.at("housing_id", text % names)


def check_birds(stay: Stay, clipped_before: Mapping[int, int]) -> None:
    """Raise BadInput when a saved stay asks for birds the batch has not got, or that are in another stay."""
    for key, short in heads.clipped(stay.batch).items():
        if short <= clipped_before.get(key, 0):
            continue
        if key != stay.pk:
            text = _("These birds are already in another housing on some of these days.")
            raise BadInput.at("birds", text)
        raise BadInput.at("birds", _too_few(stay, stay.birds - short))


def _too_few(stay: Stay, free: int) -> str:
    elsewhere = [
        other.housing.name
        for other, _birds in heads.places_on(stay.batch, stay.start)[0]
        if other.pk != stay.pk
    ]
    day = day_rules.shown(stay.start)
    if not elsewhere:
        text = ngettext(
            "The batch has only %(free)d bird on %(day)s.",
            "The batch has only %(free)d birds on %(day)s.",
            free,
        )
        return text % {"free": free, "day": day}
    text = ngettext(
        "On %(day)s only %(free)d bird is free: the others are in %(places)s. End that stay first.",
        "On %(day)s only %(free)d birds are free: the others are in %(places)s. End that stay first.",
        free,
    )
    return text % {"free": free, "day": day, "places": ", ".join(dict.fromkeys(elsewhere))}


def overlapping(stay: Stay) -> QuerySet[Stay]:
    """Return the stays of other batches in the stay's housing on any of its days."""
    return _overlapping(stay, stay.start)


def _overlapping(stay: Stay, first: date) -> QuerySet[Stay]:
    others = Stay.objects.filter(housing=stay.housing).exclude(batch=stay.batch)
    others = others.filter(Q(end__isnull=True) | Q(end__gt=first))
    return others if stay.end is None else others.filter(start__lt=stay.end)


def _first(stay: Stay, since: date | None) -> date | None:
    """Return the first day to judge, None when the whole stay is before `since`."""
    first = stay.start if since is None else max(stay.start, since)
    return None if stay.end is not None and stay.end <= first else first


def _needs_heat(batch: Batch, day: date) -> bool:
    return bool(heat.needs_heat(programmes.of(batch), [(day - batch.hatch_day).days])[0])
