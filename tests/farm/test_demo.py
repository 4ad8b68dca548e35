"""The demo farm: believable, dated from its planting day, with one clash ahead."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from farm.models import Batch, Farm, Housing, Login, Member, Observation
from farm.planning.window import Window
from farm.queries import occupancy, soundness
from farm.services import demo

#: A summer noon, the hour of a spring clock change, the last minutes of a leap day, New Year's Eve.
DAYS = [
    datetime(2026, 7, 1, 10, tzinfo=UTC),
    datetime(2027, 3, 28, 1, 30, tzinfo=UTC),
    datetime(2028, 2, 29, 22, 50, tzinfo=UTC),
    datetime(2026, 12, 31, 23, 30, tzinfo=UTC),
]


@pytest.mark.parametrize("now", DAYS)
def test_any_day_can_plant_it_and_it_is_sound(db, now: datetime):
    planted = demo.plant(now=now)

    assert soundness.problems(planted.farm) == []
    assert Batch.objects.count() == 8


def test_the_household_has_the_people_and_places_it_is_said_to_have(db):
    planted = demo.plant(now=DAYS[0])

    assert sorted(Member.objects.values_list("role", flat=True)) == ["child", "helper", "keeper", "keeper"]
    kinds = list(Housing.objects.values_list("kind", flat=True))
    assert {kind: kinds.count(kind) for kind in kinds} == {"brooder": 3, "pen": 4, "coop": 1, "paddock": 2}
    assert set(Batch.objects.values_list("species", flat=True)) == {"chicken", "duck", "quail", "turkey"}
    assert Observation.objects.exists()
    assert planted.farm.is_demo


def test_there_is_exactly_one_clash_in_the_next_twelve_weeks(db):
    planted = demo.plant(now=DAYS[0])
    today = date(2026, 7, 1)

    sheet = occupancy.for_farm(planted.farm, Window(today, 84), today)

    assert [(one.kind, sheet.housings[one.room].name) for one in sheet.breaches] == [("room", "Brooder 3")]
    assert str(sheet.sentence(sheet.breaches[0])) == (
        "Brooder 3 is 2.6 m² short on 18 August, when the 60 dual-purpose chicks hatched 14 July pass 5 weeks:"
        " 28 birds too many; the shortage begins on 4 August"
    )


def test_batches_lie_within_ten_weeks_back_and_twelve_ahead(db):
    planted = demo.plant(now=DAYS[0])

    days = [(batch.arrived_on - planted.by.today).days for batch in Batch.objects.all()]

    assert min(days) >= -70
    assert max(days) <= 84
    assert min(days) < 0 < max(days)


def test_planting_again_replaces_the_demo_and_nothing_else(db, elsewhere):
    demo.plant(now=DAYS[0])
    first = Farm.objects.get(is_demo=True).pk

    demo.plant(now=DAYS[1])

    assert Farm.objects.filter(is_demo=True).count() == 1
    assert Farm.objects.get(is_demo=True).pk != first
    assert Farm.objects.filter(pk=elsewhere.farm.pk).exists()
    assert Login.objects.filter(email="demo@example.org").count() == 1
