"""How the odds of each order line went, day by day: written down so that a page can draw them."""

from __future__ import annotations

from datetime import date, datetime

from django.db import transaction

from farm.errors import NotFound
from farm.models import Farm, LineOdds, OrderLine
from farm.planning import allotments as planning
from farm.queries import allotments
from farm.services import locks
from farm.services.actor import local_day


def record_odds(*, farm_id: int, now: datetime) -> int:
    """Write down how each open line stands on the farm's day, in place of what was written earlier that day.

    Nothing is logged in the history: it is worked out, not told. Returns how many differ. Raises NotFound.
    """
    farm = Farm.objects.filter(pk=farm_id).first()
    if farm is None:
        raise NotFound("farm")
    day = local_day(farm, now)
    found = allotments.for_farm(farm, day)
    with transaction.atomic():
        locks.farm(farm_id)
        # Lines removed while this was worked out have no odds any more.
        there = OrderLine.objects.filter(farm=farm, pk__in=found.wanted).values_list("pk", flat=True)
        return sum(_record(farm, line, day, found.odds(line)) for line in there)


def _record(farm: Farm, line_id: int, day: date, odds: planning.LineOdds | None) -> bool:
    assert odds is not None, "every line that wants birds has odds"
    values = {
        "allotted": odds.allotted,
        "expected": odds.expected,
        "chance": odds.chance,
        "low": odds.low,
        "high": odds.high,
    }
    known = LineOdds.objects.filter(line_id=line_id, day=day)
    if known.filter(**values).exists():
        return False
    if not known.update(**values):
        LineOdds.objects.create(farm=farm, line_id=line_id, day=day, **values)
    return True
