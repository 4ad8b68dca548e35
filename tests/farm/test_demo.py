"""The demo farm: believable, dated from its planting day, with one clash ahead."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from farm.models import Batch, EggSet, Farm, Housing, Intake, Login, Machine, Member, Observation, Order
from farm.models.order import OrderStatus
from farm.planning.window import Window
from farm.queries import allotments, occupancy, soundness
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
    assert Batch.objects.count() == 15


def test_the_household_has_the_people_and_places_it_is_said_to_have(db):
    planted = demo.plant(now=DAYS[0])

    assert sorted(Member.objects.values_list("role", flat=True)) == ["child", "helper", "keeper", "keeper"]
    kinds = list(Housing.objects.values_list("kind", flat=True))
    assert {kind: kinds.count(kind) for kind in kinds} == {"brooder": 7, "pen": 4, "coop": 1, "paddock": 2}
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


def test_six_egg_sets_stand_in_two_machines_each_in_another_state(db):
    planted = demo.plant(now=DAYS[0])
    today = planted.by.today

    sets = list(EggSet.objects.prefetch_related("entries").select_related("batch"))
    states = [
        "hatched" if one.hatched_on
        else "planned" if one.set_on > today
        else "hatching" if one.batch and one.batch.hatch_day == today
        else "last days" if one.batch and (one.batch.hatch_day - today).days < 3
        else "candled" if one.entries.exists()
        else "set"
        for one in sets
    ]  # fmt: skip

    assert sorted(states) == ["candled", "hatched", "hatching", "last days", "planned", "set"]
    assert Machine.objects.count() == 2
    assert Intake.objects.filter(state="expected").count() == 1


def test_of_ten_orders_one_comes_too_late_for_more_eggs_to_help(db):
    planted = demo.plant(now=DAYS[0])
    today = planted.by.today
    assert Order.objects.count() == 10
    assert Order.objects.filter(status=OrderStatus.FILLED).count() == 1

    odds = allotments.for_farm(planted.farm, today).allotment.lines
    short = [
        line
        for order in Order.objects.filter(status=OrderStatus.CONFIRMED, series=None)
        for line in order.lines.all()
        if odds[str(line.pk)].short
    ]

    assert [(line.order.customer, odds[str(line.pk)].short) for line in short] == [("B-07", 8)]
    assert (short[0].to_on - today).days - short[0].age_from_days < 21  # hens' eggs take three weeks
