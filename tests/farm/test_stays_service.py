"""Planning, changing and removing stays: each rule at its field, on its boundary day, with nothing saved."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest

from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Batch, HistoryEntry, Stay
from farm.queries import soundness
from farm.services import counts, stays
from tests.conftest import TODAY, World


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


def add(world: World, batch: Batch, housing: str, **fields: Any) -> Stay:
    fields = {"birds": 40, "start": TODAY, "end": day(10)} | fields
    return stays.add(world.by, batch_id=batch.pk, housing_id=world.housing[housing].pk, **fields)


def refused(world: World, batch: Batch, housing: str, **fields: Any) -> dict[str, list[str]]:
    """Return what the service says, having checked that it saved nothing."""
    before, told = list(Stay.objects.values()), HistoryEntry.objects.count()
    with pytest.raises(BadInput) as error:
        add(world, batch, housing, **fields)
    assert list(Stay.objects.values()) == before
    assert HistoryEntry.objects.count() == told
    return {name: [str(text) for text in texts] for name, texts in error.value.fields.items()}


@pytest.fixture
def browns(world: World) -> Batch:
    """40 chicks hatched and arrived 14 days ago, without housing; they need heat until day 42."""
    return world.add_batch("Browns")


def test_a_stay_that_began_today_has_happened_and_a_later_one_is_planned(world: World, browns: Batch):
    assert add(world, browns, "Brooder 1", birds=10).actual is True
    assert add(world, browns, "Brooder 1", birds=10, start=day(1)).actual is False


def test_the_history_says_the_stay_in_words(world: World, browns: Batch):
    add(world, browns, "Brooder 1", birds=30)

    line = HistoryEntry.objects.order_by("-pk")[0].summary
    assert line == "Browns: 30 in Brooder 1 from 1 May 2026 until 11 May 2026"


@pytest.mark.parametrize("birds", [0, -3])
def test_a_stay_without_a_bird_is_refused(world: World, browns: Batch, birds: int):
    assert refused(world, browns, "Brooder 1", birds=birds) == {"birds": ["Enter at least 1 bird."]}


def test_a_stay_for_more_birds_than_the_batch_has_is_refused(world: World, browns: Batch):
    assert refused(world, browns, "Brooder 1", birds=41) == {
        "birds": ["The batch has only 40 birds on 1 May 2026."]
    }


def test_birds_that_died_before_the_stay_are_not_there_for_it(world: World, browns: Batch):
    counts.add(world.by, batch_id=browns.pk, kind="died", birds=2, day=day(-1))

    assert list(refused(world, browns, "Brooder 1", birds=39)) == ["birds"]
    assert add(world, browns, "Brooder 1", birds=38).birds == 38


def test_a_stay_may_start_on_the_day_the_birds_arrive_but_not_the_day_before(world: World, browns: Batch):
    assert refused(world, browns, "Brooder 1", start=day(-15)) == {
        "start": ["The batch only arrives on 17 April 2026."]
    }
    assert add(world, browns, "Brooder 1", start=day(-14)).start == day(-14)


def test_a_stay_must_last_a_day(world: World, browns: Batch):
    assert refused(world, browns, "Brooder 1", end=TODAY) == {"end": ["A stay must end after it starts."]}
    assert add(world, browns, "Brooder 1", end=day(1)).end == day(1)


def test_a_day_more_than_400_days_away_is_taken_for_a_slip(world: World, browns: Batch):
    said = refused(world, browns, "Brooder 1", end=day(401))

    assert said == {"end": ["6 June 2027 is more than a year away from today. Check the year."]}
    assert add(world, browns, "Brooder 1", end=day(400)).end == day(400)


def test_several_mistakes_are_told_at_once(world: World, browns: Batch):
    said = refused(world, browns, "Brooder 1", birds=0, start=day(-20), end=day(-20))

    assert sorted(said) == ["birds", "end", "start"]


def test_the_same_birds_are_not_in_two_housings_on_one_day(world: World, browns: Batch):
    add(world, browns, "Brooder 1", birds=30, end=day(10))

    said = refused(world, browns, "Brooder 2", birds=11, start=day(9))

    assert said == {
        "birds": ["On 10 May 2026 only 10 birds are free: the others are in Brooder 1. End that stay first."]
    }


def test_birds_are_free_again_on_the_day_their_stay_ends(world: World, browns: Batch):
    add(world, browns, "Brooder 1", birds=40, end=day(10))

    assert add(world, browns, "Brooder 2", birds=40, start=day(10), end=None).birds == 40


def test_a_stay_that_takes_birds_from_a_later_one_is_refused(world: World, browns: Batch):
    add(world, browns, "Brooder 1", birds=40, start=day(5), end=None)

    assert refused(world, browns, "Brooder 2", birds=1, end=day(6)) == {
        "birds": ["These birds are already in another housing on some of these days."]
    }


def test_a_stay_must_lie_within_the_housings_service(world: World, browns: Batch):
    world.add_housing("Summer", in_service_from=day(2), in_service_to=day(20))

    assert refused(world, browns, "Summer", start=day(1)) == {
        "start": ["Summer is in use from 3 May 2026 only."]
    }
    late = {"end": ["Summer is in use until 21 May 2026 only. End the stay by then."]}
    assert refused(world, browns, "Summer", start=day(2), end=day(21)) == late
    assert refused(world, browns, "Summer", start=day(2), end=None) == late
    assert add(world, browns, "Summer", start=day(2), end=day(20)).end == day(20)


def test_birds_that_need_heat_go_without_only_for_a_written_reason(world: World, browns: Batch):
    text = "Pen 1 has no heat, and these birds need it until 29 May 2026. Write the reason if you mean it."

    assert refused(world, browns, "Pen 1") == {"override_reason": [text]}
    assert refused(world, browns, "Pen 1", override_reason="  ") == {"override_reason": [text]}
    assert add(world, browns, "Pen 1", override_reason="hot July").override_reason == "hot July"


def test_heat_is_asked_for_until_the_last_day_of_the_programme(world: World, browns: Batch):
    assert list(refused(world, browns, "Pen 1", start=day(27), end=None)) == ["override_reason"]
    assert add(world, browns, "Pen 1", start=day(28), end=None).override_reason == ""


def test_a_housing_for_other_species_is_refused(world: World, browns: Batch):
    world.add_housing("Duck house", species=["duck"])

    assert refused(world, browns, "Duck house") == {"housing_id": ["Duck house is not for this species."]}


def test_species_that_must_not_share_are_kept_apart_on_every_common_day(world: World, browns: Batch):
    poults = world.add_batch("Poults", birds=10, programme="turkey_large")
    add(world, poults, "Brooder 1", birds=10, end=day(5))

    said = refused(world, browns, "Brooder 1", start=day(4))

    assert said["housing_id"][0].startswith(
        "The birds of Poults are in Brooder 1 on 5 May 2026. Turkeys and chickens never"
    )
    assert add(world, browns, "Brooder 1", start=day(5)).start == day(5)


def test_ducklings_and_chicks_share_only_when_none_of_them_needs_heat(world: World, browns: Batch):
    ducks = world.add_batch("Ducks", birds=10, programme="duck", age=40)
    add(world, ducks, "Pen 1", birds=10, end=None)

    assert list(refused(world, browns, "Pen 1", override_reason="warm")) == ["housing_id"]
    assert add(world, browns, "Pen 1", start=day(28), end=None).birds == 40


def test_a_housing_for_one_batch_takes_the_next_on_the_day_the_first_leaves(world: World, browns: Batch):
    world.add_housing("Solo", one_batch=True)
    add(world, browns, "Solo", end=day(10))
    reds = world.add_batch("Reds", birds=10)

    said = refused(world, reds, "Solo", birds=10, start=day(9), end=None)

    assert said == {"housing_id": ["Solo takes one batch at a time, and Browns is there on 10 May 2026."]}
    assert add(world, reds, "Solo", birds=10, start=day(10), end=None).one_batch is True


def test_a_batch_without_birds_left_bars_nobody(world: World, browns: Batch):
    poults = world.add_batch("Poults", birds=10, programme="turkey_large", housing="Brooder 1")
    counts.add(world.by, batch_id=poults.pk, kind="sold", birds=10, day=day(-3))

    add(world, browns, "Brooder 1", end=None)

    assert Stay.objects.get(batch=poults).end == day(-3)
    assert soundness.problems(world.farm) == []


def test_a_planned_stay_of_birds_that_are_gone_gives_way(world: World, browns: Batch):
    poults = world.add_batch("Poults", birds=10, programme="turkey_large")
    add(world, poults, "Brooder 1", birds=10, start=day(3), end=None)
    counts.add(world.by, batch_id=poults.pk, kind="sold", birds=10, day=TODAY)

    add(world, browns, "Brooder 1", end=None)

    assert [stay.batch for stay in Stay.objects.all()] == [browns]


def test_another_farms_housing_is_not_found(world: World, elsewhere: World, browns: Batch):
    theirs = elsewhere.add_housing("Their pen")

    with pytest.raises(NotFound):
        stays.add(world.by, batch_id=browns.pk, housing_id=theirs.pk, birds=1, start=TODAY, end=None)
    assert Stay.objects.count() == 0


@pytest.mark.parametrize("role", ["helper", "child"])
def test_only_keepers_plan_stays(world: World, browns: Batch, role: str):
    other = world.add_member("Lina", role)

    with pytest.raises(NotAllowed):
        stays.add(
            other,
            batch_id=browns.pk,
            housing_id=world.housing["Brooder 1"].pk,
            birds=1,
            start=TODAY,
            end=None,
        )
    assert Stay.objects.count() == 0
