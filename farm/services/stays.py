"""Where birds live, from when to when: planning, beginning, moving and ending stays."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch, Housing, Stay
from farm.models.member import Role
from farm.queries import heads, lookup
from farm.services import batch_rules, day_rules, moves, stale
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
    fields["actual"] = batch_rules.has_begun(batch, start, log.by.today)
    stay = Stay(
        farm=log.farm, batch=batch, housing=housing, start=start, one_batch=housing.one_batch, **fields
    )
    batch_rules.check_typed(log.by.today, start=start, end=stay.end)
    batch_rules.check_fields(stay)
    moves.make_way(log, stay)
    batch_rules.check_place(stay)
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
        fields |= {"housing": housing, "one_batch": housing.one_batch}
        fields["actual"] = batch_rules.has_begun(stay.batch, fields.get("start", stay.start), by.today)
        _judge(log, stay, fields)
        if log.change(stay, **fields):
            batch_rules.check_stay(stay, by.today, clipped_before=before)
            log.says(stay.batch, describe(stay))
    return stay


def _judge(log: Log, stay: Stay, fields: dict[str, Any]) -> None:
    """Judge the stay as it would be, before it is saved: what was already so is not judged again."""
    today = log.by.today
    wanted = copy.copy(stay)
    for name, value in fields.items():
        setattr(wanted, name, value)
    typed = {name: getattr(wanted, name) for name in ("start", "end")}
    batch_rules.check_typed(today, **{name: day for name, day in typed.items() if day != getattr(stay, name)})
    batch_rules.check_fields(wanted)
    moves.make_way(log, wanted)
    same = wanted.start == stay.start and wanted.housing_id == stay.housing_id
    batch_rules.check_place(wanted, since=min(today, stay.end or today) if same else None)


def remove(by: Actor, *, stay_id: int, expected_version: int | None = None) -> None:
    """Take a stay out of the plan. Its birds are shown as without housing until they have another. Raises Stale."""
    with write(by, "remove stay", role=Role.KEEPER) as log:
        stay = lookup.get(Stay, farm_id=by.farm_id, pk=stay_id)
        stale.check(stay, expected_version)
        log.says(stay.batch, _("Removed: %(stay)s") % {"stay": describe(stay)})
        log.remove(stay)


def move(
    by: Actor, *, batch_id: int, from_id: int, to_id: int, birds: int, day: date, override_reason: str = ""
) -> Stay:
    """Move `birds` of a batch between housings on `day`; the rest stay where they are.

    The moved birds take over the remaining days of the stay they leave. When the plan already has them go to the same
    housing later, that planned stay simply starts earlier. Raises BadInput at from_id, to_id, birds, day or
    override_reason.
    """
    with write(by, "move", role=Role.HELPER) as log:
        batch = lookup.get(Batch, farm_id=by.farm_id, pk=batch_id)
        old = lookup.get(Housing, farm_id=by.farm_id, pk=from_id)
        new = lookup.get(Housing, farm_id=by.farm_id, pk=to_id)
        batch_rules.check_typed(by.today, day=day)
        if day <= by.today:
            batch_rules.refuse_expected(batch)
        if new == old:
            raise BadInput.at("to_id", _("They are already there. Choose another housing."))
        with _named_as_moved():
            stay = moves.carry(
                log, moves.places(batch, old, day, birds), new, birds, day, override_reason.strip()
            )
        log.says(
            batch,
            _("%(batch)s: moved %(birds)d from %(old)s to %(new)s on %(day)s")
            % {
                "batch": batch,
                "birds": birds,
                "old": old,
                "new": new,
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


@contextmanager
def _named_as_moved() -> Iterator[None]:
    """Say what a stay is refused for at the fields of a move: where to, and on which day."""
    try:
        yield
    except BadInput as refused:
        fields = {"housing_id": "to_id", "start": "day", "end": "to_id"}
        raise BadInput({fields.get(name, name): texts for name, texts in refused.fields.items()}) from refused
