"""Statutes on weight per floor hold on every day of the demo's adopted plan (trade table section 15, nos. 7 and 8).

[EU2007] Council Directive 2007/43/EC: at most 33 kg of meat chicken a square metre. [BPS2022] 36 kg of turkey a square
metre. Neither is an input: the plan reads floor per bird by age from other sources.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from farm.husbandry import growth
from farm.models import Batch
from farm.planning.window import Window
from farm.queries import occupancy, programmes
from farm.services import demo, plans, solving

#: Species and type, and the most kg a square metre.
STATUTES = {("chicken", "meat"): 33.0, ("turkey", "large"): 36.0}
WEEKS = 52


@pytest.fixture
def planned(db: None):
    planted = demo.plant(now=datetime(2026, 5, 1, 10, tzinfo=UTC))
    plan = plans.propose(planted.by)
    now = planted.by.now
    assert solving.run(plan_id=plan.pk, now=lambda: now + timedelta(seconds=1), iterations=300) == "ready"
    plan.refresh_from_db()
    plans.adopt(planted.by, plan_id=plan.pk, seen_version=plan.version)
    return occupancy.for_farm(planted.farm, Window(planted.by.today, 7 * WEEKS), planted.by.today)


def kg_by_housing(sheet, batch: Batch) -> np.ndarray:
    """Return the kg of a batch's birds, the heavier sex, housing by day."""
    load = sheet.occupancy
    ages = np.array([(day - batch.hatch_day).days for day in sheet.window.dates()])
    grams = growth.weight_g(programmes.of(batch), np.maximum(ages, 0), "sexed_male")
    found = np.zeros((len(sheet.housings), sheet.window.days))
    for part in load.parts:
        if part.group == str(batch.pk):
            found[load.row[part.room]] += part.birds * grams / 1000
    return found


@pytest.mark.parametrize(("kind", "most"), STATUTES.items(), ids=["EU2007", "BPS2022"])
def test_no_square_metre_ever_carries_more_than_the_statute_allows(planned, kind, most):
    batches = [batch for batch in planned.batches.values() if (batch.species, batch.type) == kind]
    kg = sum(kg_by_housing(planned, batch) for batch in batches)
    heaviest = (kg / np.maximum(planned.occupancy.area_m2, 1e-9))[planned.occupancy.area_m2 > 0].max()

    assert batches != []
    assert kg.sum() > 0
    # From the day after the plan was made: where the birds stood that day was no plan's doing.
    assert heaviest <= most


def test_the_plan_leaves_nobody_short_of_floor(planned):
    assert [
        breach for breach in planned.breaches if breach.kind in ("room", "heat", "unhoused", "species")
    ] == []
