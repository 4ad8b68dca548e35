"""How birds pass from one stay to the next, inside an open write."""

from __future__ import annotations

from datetime import date

from django.db.models import Sum
from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch, Housing, Stay
from farm.queries import heads
from farm.services import batch_rules, day_rules
from farm.services.stay_rules import overlapping
from farm.services.writing import Log

Place = tuple[Stay, int]


def places(batch: Batch, housing: Housing, day: date, birds: int) -> list[Place]:
    """Return the stays of `batch` in `housing` that hold birds on `day`, with how many, in the order they are emptied.

    A batch can be in one housing by several stays. Those that hold exactly `birds` come first, then those that end
    first. Raises BadInput at from_id or birds.
    """
    found = [place for place in heads.places_on(batch, day)[0] if place[0].housing_id == housing.pk]
    if not found:
        raise BadInput.at(
            "from_id",
            _("No birds of this batch are in %(housing)s on %(day)s.")
            % {"housing": housing, "day": day_rules.shown(day)},
        )
    there = sum(count for _stay, count in found)
    if not 1 <= birds <= there:
        raise BadInput.at(
            "birds",
            _("There are %(there)d in %(housing)s on %(day)s. Enter a number from 1 to %(there)d.")
            % {"there": there, "housing": housing, "day": day_rules.shown(day)},
        )
    return sorted(found, key=lambda place: (place[1] != birds, place[0].end or date.max, place[0].pk))


def carry(log: Log, found: list[Place], to: Housing, birds: int, day: date, reason: str) -> Stay:
    """Carry `birds` out of the stays `found` into `to` and return the stay they are in, the first if several."""
    made: list[Stay] = []
    for left, there in found:
        moving = min(there, birds)
        if moving:
            made.append(_carry_one(log, left, to, there, moving, day, reason))
            birds -= moving
    return made[0]


def make_way(log: Log, stay: Stay) -> None:
    """End what stays are left, in the housing of `stay`, of batches without a single bird: they bar nobody."""
    for other in overlapping(stay).select_related("batch"):
        gone = _gone_on(other.batch)
        if gone is None:
            continue
        if other.start > gone:
            log.remove(other)
        else:
            # A stay has at least one day, also when the birds left on their first.
            last = max(gone, date.fromordinal(other.start.toordinal() + 1))
            log.change(other, end=last)


def _gone_on(batch: Batch) -> date | None:
    """Return the day the last bird of a batch left, None while there are birds or more to come."""
    lines = batch.count_entries.values("day").annotate(birds=Sum("birds")).order_by("day")
    days = [line["day"] for line in lines if line["birds"]]
    return days[-1] if days and sum(line["birds"] for line in lines) == 0 else None


def _carry_one(log: Log, left: Stay, to: Housing, there: int, birds: int, day: date, reason: str) -> Stay:
    batch, until, today = left.batch, left.end, log.by.today
    before = heads.clipped(batch)
    fields = {"housing": to, "birds": birds, "start": day, "actual": day <= today, "one_batch": to.one_batch}
    stay = Stay(farm=log.farm, batch=batch, end=until, override_reason=reason, **fields)
    ahead = _ahead(batch, to, until, birds, before)
    if ahead is not None:
        stay.end, stay.override_reason = ahead.end, reason or ahead.override_reason
    make_way(log, stay)
    batch_rules.check_place(stay)
    _leave(log, left, there - birds, day)
    if ahead is None:
        log.add(stay)
    else:
        log.change(ahead, override_reason=stay.override_reason, **fields)
        stay = ahead
    batch_rules.check_stay(stay, today, clipped_before=before)
    return stay


def _ahead(batch: Batch, to: Housing, until: date | None, birds: int, clipped: dict[int, int]) -> Stay | None:
    """Return the planned stay that would bring the same birds there on `until`: it starts earlier instead."""
    if until is None:
        return None
    for stay in batch.stays.filter(housing=to, start=until, actual=False, pinned=False):
        if stay.birds - clipped.get(stay.pk, 0) == birds:
            return stay
    return None


def _leave(log: Log, left: Stay, staying: int, day: date) -> None:
    """End `left` on `day`; those who stay go on in a stay of their own, so that the past keeps its numbers."""
    until = left.end
    if staying:
        staying += _lost_here(left, day)
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
            pinned=left.pinned,
            one_batch=left.one_batch,
            override_reason=left.override_reason,
        )
        log.add(rest)


def _lost_here(left: Stay, day: date) -> int:
    """Return the birds the ledger takes from this housing on `day` itself: a stay begins with them and loses them."""
    lines = left.batch.count_entries.filter(day=day, housing=left.housing)
    return max(0, -(lines.aggregate(birds=Sum("birds"))["birds"] or 0))
