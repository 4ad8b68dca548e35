"""What must hold of a batch's ledger and stays, said in words when it does not."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from django.db.models import Q, QuerySet
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.husbandry import heat
from farm.models import Batch, Stay
from farm.queries import heads, programmes
from farm.services import day_rules
from farm.trade import mixing


def check_ledger(batch: Batch, field: str = "", adding: tuple[date, int] | None = None) -> None:
    """Raise BadInput at `field` when the batch would have fewer than no birds on any day.

    adding: a line about to be written; judged first, because the database refuses it without a word to the keeper.
    """
    low = heads.first_day_below_zero(batch, adding)
    if low is not None:
        day, short = low
        alive = heads.alive_on(batch, day) + (0 if adding else short)
        raise BadInput.at(
            field,
            _("That is %(short)d more than were alive: %(alive)d on %(day)s.")
            % {"short": short, "alive": max(alive, 0), "day": day_rules.shown(day)},
        )


def check_fields(stay: Stay, today: date) -> None:
    """Raise BadInput for a stay that is wrong by itself: days, service, species, heat."""
    problems: dict[str, list[object]] = {
        "start": day_rules.typo(stay.start, today),
        "end": day_rules.typo(stay.end, today),
    }
    if stay.start < stay.batch.arrived_on:
        problems["start"] += [
            _("The batch only arrives on %(day)s.") % {"day": day_rules.shown(stay.batch.arrived_on)}
        ]
    if stay.end is not None and stay.end <= stay.start:
        problems["end"] += [_("A stay must end after it starts.")]
    allowed = stay.housing.species
    if allowed and stay.batch.species not in allowed:
        problems["housing_id"] = [_("%(housing)s is not for this species.") % {"housing": stay.housing}]
    found = {name: texts for name, texts in problems.items() if texts}
    if found:
        raise BadInput(found)


def check_stay(stay: Stay, today: date, *, clipped_before: Mapping[int, int] | None) -> None:
    """Raise BadInput for a saved stay that breaks a rule with its batch, its housing or its neighbours.

    clipped_before: birds each stay of the batch lacked before this write (`heads.clipped`); a stay may not make that
    worse, so losses that shrank a later planned stay never block another edit. None: do not judge numbers.
    """
    check_fields(stay, today)
    check_service(stay)
    _check_heat(stay)
    check_neighbours(stay)
    if clipped_before is not None:
        _check_birds(stay, clipped_before)


def check_service(stay: Stay) -> None:
    """Raise BadInput when the housing is not in use on all days of the stay."""
    housing = stay.housing
    if housing.in_service_from is not None and stay.start < housing.in_service_from:
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


def check_neighbours(stay: Stay) -> None:
    """Raise BadInput when another batch in the same housing on the same days must not be there."""
    for other in _overlapping(stay).select_related("batch"):
        names = {
            "housing": stay.housing,
            "other": other.batch,
            "start": day_rules.shown(max(stay.start, other.start)),
        }
        if stay.housing.one_batch:
            text = _("%(housing)s takes one batch at a time, and %(other)s is there on %(start)s.")
            raise BadInput.at("housing_id", text % names)
        rule = mixing.mixing().apart(stay.batch.species, other.batch.species, _brooding(stay, other))
        if rule is not None:
            text = _("%(other)s is in %(housing)s on %(start)s.")
            raise BadInput.at("housing_id", f"{text % names} {_(rule.text)}")


def _overlapping(stay: Stay) -> QuerySet[Stay]:
    others = Stay.objects.filter(housing=stay.housing).exclude(batch=stay.batch)
    others = others.filter(Q(end__isnull=True) | Q(end__gt=stay.start))
    return others if stay.end is None else others.filter(start__lt=stay.end)


def _brooding(stay: Stay, other: Stay) -> bool:
    """Say whether either batch still needs heat when they meet."""
    meet = max(stay.start, other.start)
    return any(_needs_heat(batch, meet) for batch in (stay.batch, other.batch))


def _needs_heat(batch: Batch, day: date) -> bool:
    return bool(heat.needs_heat(programmes.of(batch), [(day - batch.hatch_day).days])[0])


def _check_heat(stay: Stay) -> None:
    if stay.housing.heated or stay.override_reason.strip():
        return
    if _needs_heat(stay.batch, stay.start):
        until = next(day for day in range(400) if not heat.needs_heat(programmes.of(stay.batch), [day])[0])
        raise BadInput.at(
            "override_reason",
            _(
                "%(housing)s has no heat, and these birds need it until %(day)s. Write the reason if you mean it."
            )
            % {"housing": stay.housing, "day": day_rules.shown(stay.batch.hatch_day + timedelta(days=until))},
        )


def _check_birds(stay: Stay, clipped_before: Mapping[int, int]) -> None:
    for key, short in heads.clipped(stay.batch).items():
        if short <= clipped_before.get(key, 0):
            continue
        free = stay.birds - short if key == stay.pk else None
        if free is not None:
            text = _("On %(day)s only %(free)d birds of this batch are free for this stay.")
            values = {"day": day_rules.shown(stay.start), "free": free}
        else:
            text = _("These birds are already in another housing on some of these days.")
            values = {}
        raise BadInput.at("birds", text % values if values else text)
