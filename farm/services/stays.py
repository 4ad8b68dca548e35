"""Where birds live, from when to when: planning, beginning, moving and ending stays."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch, Housing, Stay
from farm.models.member import Role
from farm.queries import heads, lookup
from farm.services import batch_rules, day_rules, stale
from farm.services.actor import Actor
from farm.services.writing import Log, write


def add(
    by: Actor,
    *,
    batch_id: int,
    housing_id: int,
    birds: int,
    start: date,
    end: date | None,
    pinned: bool = False,
    override_reason: str = "",
) -> Stay:
    """Put part of a batch in a housing for half-open days; planned when it starts after today. Raises BadInput."""
    with write(by, "add stay", role=Role.KEEPER) as log:
        batch = lookup.get(Batch, farm_id=by.farm_id, pk=batch_id)
        housing = lookup.get(Housing, farm_id=by.farm_id, pk=housing_id)
        stay = add_in(
            log,
            batch=batch,
            housing=housing,
            birds=birds,
            start=start,
            end=end,
            pinned=pinned,
            override_reason=override_reason,
        )
        log.says(batch, describe(stay))
    return stay


def add_in(log: Log, *, batch: Batch, housing: Housing, start: date, **fields: Any) -> Stay:
    """Add a stay inside an open write, judged by every rule."""
    before = heads.clipped(batch)
    fields.setdefault("actual", start <= log.by.today)
    stay = Stay(
        farm=log.farm, batch=batch, housing=housing, start=start, one_batch=housing.one_batch, **fields
    )
    batch_rules.check_fields(stay, log.by.today)
    log.add(stay)
    batch_rules.check_stay(stay, log.by.today, clipped_before=before)
    return stay


def change(by: Actor, *, stay_id: int, expected_version: int | None, **fields: Any) -> Stay:
    """Change a stay: any of housing_id, birds, start, end, pinned, override_reason. Raises Stale, BadInput."""
    with write(by, "change stay", role=Role.KEEPER) as log:
        stay = lookup.get(Stay, farm_id=by.farm_id, pk=stay_id)
        stale.check(stay, expected_version)
        housing = lookup.get(Housing, farm_id=by.farm_id, pk=fields.pop("housing_id", stay.housing_id))
        before = heads.clipped(stay.batch)
        start = fields.get("start", stay.start)
        changed = log.change(
            stay, housing=housing, one_batch=housing.one_batch, actual=start <= by.today, **fields
        )
        if changed:
            batch_rules.check_fields(stay, by.today)
            batch_rules.check_stay(stay, by.today, clipped_before=before)
            log.says(stay.batch, describe(stay))
    return stay


def remove(by: Actor, *, stay_id: int) -> None:
    """Take a stay out of the plan. Its birds are shown as without housing until they have another."""
    with write(by, "remove stay", role=Role.KEEPER) as log:
        stay = lookup.get(Stay, farm_id=by.farm_id, pk=stay_id)
        log.says(stay.batch, _("Removed: %(stay)s") % {"stay": describe(stay)})
        log.remove(stay)


def move(
    by: Actor, *, batch_id: int, from_id: int, to_id: int, birds: int, day: date, override_reason: str = ""
) -> Stay:
    """Move `birds` of a batch between housings on `day`; the rest stay where they are.

    The moved birds take over the remaining days of the stay they leave. When the plan already has them go to the same
    housing later, that planned stay simply starts earlier. Raises BadInput.
    """
    with write(by, "move", role=Role.HELPER) as log:
        batch = lookup.get(Batch, farm_id=by.farm_id, pk=batch_id)
        left = _standing(by, batch, from_id, day)
        to = lookup.get(Housing, farm_id=by.farm_id, pk=to_id)
        there = heads.on(left, day)
        _check_move(left, to, birds, there, day)
        stay = _carry_out(log, left, to, birds, there, day, override_reason)
        log.says(
            batch,
            _("%(batch)s: moved %(birds)d from %(old)s to %(new)s on %(day)s")
            % {
                "batch": batch,
                "birds": birds,
                "old": left.housing,
                "new": to,
                "day": day_rules.shown(day),
            },
        )
    return stay


def describe(stay: Stay) -> str:
    """Return the stay in words, for the history."""
    span = {
        "batch": stay.batch,
        "birds": stay.birds,
        "housing": stay.housing,
        "start": day_rules.shown(stay.start),
    }
    if stay.end is None:
        return _("%(batch)s: %(birds)d in %(housing)s from %(start)s") % span
    span["end"] = day_rules.shown(stay.end)
    return _("%(batch)s: %(birds)d in %(housing)s from %(start)s until %(end)s") % span


def _standing(by: Actor, batch: Batch, housing_id: int, day: date) -> Stay:
    housing = lookup.get(Housing, farm_id=by.farm_id, pk=housing_id)
    for stay in batch.stays.filter(housing=housing, start__lte=day).select_related("housing", "batch"):
        if stay.end is None or stay.end > day:
            return stay
    raise BadInput.at(
        "from_id",
        _("No birds of this batch are in %(housing)s on %(day)s.")
        % {"housing": housing, "day": day_rules.shown(day)},
    )


def _check_move(left: Stay, to: Housing, birds: int, there: int, day: date) -> None:
    if to.pk == left.housing_id:
        raise BadInput.at("to_id", _("They are already there. Choose another housing."))
    if not 1 <= birds <= there:
        raise BadInput.at(
            "birds",
            _("There are %(there)d in %(housing)s on %(day)s. Enter a number from 1 to %(there)d.")
            % {"there": there, "housing": left.housing, "day": day_rules.shown(day)},
        )


def _carry_out(
    log: Log, left: Stay, to: Housing, birds: int, there: int, day: date, override_reason: str
) -> Stay:
    batch, until, today = left.batch, left.end, log.by.today
    before = heads.clipped(batch)
    _leave(log, left, there - birds, day)
    ahead = None
    if until is not None:
        ahead = batch.stays.filter(housing=to, start=until, actual=False, pinned=False, birds=birds).first()
    if ahead is not None:
        log.change(
            ahead, start=day, actual=day <= today, override_reason=override_reason or ahead.override_reason
        )
        stay = ahead
    else:
        stay = Stay(
            farm=log.farm,
            batch=batch,
            housing=to,
            birds=birds,
            start=day,
            end=until,
            actual=day <= today,
            one_batch=to.one_batch,
            override_reason=override_reason,
        )
        log.add(stay)
    batch_rules.check_fields(stay, today)
    batch_rules.check_stay(stay, today, clipped_before=before)
    return stay


def _leave(log: Log, left: Stay, staying: int, day: date) -> None:
    """End `left` on `day`; those who stay go on in a stay of their own, so that the past keeps its numbers."""
    until = left.end
    if day == left.start:
        if staying:
            log.change(left, birds=staying)
        else:
            log.remove(left)
        return
    log.change(left, end=day)
    if staying:
        rest = Stay(
            farm=log.farm,
            batch=left.batch,
            housing=left.housing,
            birds=staying,
            start=day,
            end=until,
            actual=day <= log.by.today,
            one_batch=left.one_batch,
            override_reason=left.override_reason,
        )
        log.add(rest)
