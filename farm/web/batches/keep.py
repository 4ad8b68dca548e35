"""How a batch is kept, as its page shows it: advice, feed and its cost, days to wait."""

from __future__ import annotations

from typing import Any

from farm.models import Batch
from farm.queries import advice, feed_cost, heads, waits
from farm.queries.feed_cost import BatchCost
from farm.trade.cautions import Caution, cautions
from farm.web.access import Visit

_CENTS = 100


def of(batch: Batch, visit: Visit) -> dict[str, Any]:
    """Return what the page's sections of advice, feed and days to wait read."""
    today = visit.by.today
    gone = heads.gone_on(batch) is not None
    warm = None if gone else advice.warm(batch, today, visit.by.now)
    cost = feed_cost.of(batch, today)
    birds = max(heads.alive_on(batch, today), 0)
    return {
        "warm": warm,
        "warm_cautions": _cautions(warm.cautions) if warm else [],
        "weight": None if gone else advice.weight(batch, today),
        "feed": cost,
        "feed_money": _money(cost, birds),
        "missing": [each for each in cost.sheet.missing if batch in each.batches],
        "eats": [row for row in cost.sheet.rows if batch in row.eaters],
        "waits": waits.rows(batch, today),
        "wait_cautions": _cautions(("drugs",)),
    }


def _money(cost: BatchCost, birds: int) -> dict[str, float | None]:
    each = cost.cost.per_bird(birds)
    return {
        "to_date": cost.cost.to_date / _CENTS,
        "to_come": cost.cost.to_come / _CENTS,
        "a_bird": None if each is None else each / _CENTS,
        "unpriced_kg": cost.cost.unpriced_g / 1000,
        "assumed_kg": cost.cost.assumed_g / 1000,
    }


def _cautions(keys: tuple[str, ...]) -> list[Caution]:
    return [cautions()[key] for key in keys]
