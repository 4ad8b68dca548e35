"""Observations: what is recorded, in which units, and what is refused at which field."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from farm.errors import BadInput, NotFound
from farm.models import HistoryEntry, Observation
from farm.models.member import Role
from farm.models.observation import ObservationKind
from farm.services import history, observations
from farm.trade.behaviours import behaviours
from tests.conftest import NOON, World


def see(world: World, **fields: Any) -> Observation:
    place = {"housing_id": world.housing["Brooder 1"].pk}
    return observations.add(world.by, **({"kind": "note", "note": "calm"} | place | fields))


def refused(world: World, **fields: Any) -> dict[str, list[str]]:
    """Return what the service says by field, having checked that it saved nothing."""
    before = [*Observation.objects.values(), *HistoryEntry.objects.values()]
    with pytest.raises(BadInput) as error:
        see(world, **fields)
    assert [*Observation.objects.values(), *HistoryEntry.objects.values()] == before
    return {name: [str(text) for text in texts] for name, texts in error.value.fields.items()}


def newest(world: World) -> str:
    return HistoryEntry.objects.filter(farm=world.farm).latest("pk").summary


def test_a_temperature_is_kept_with_who_read_it_and_when(world: World):
    seen = see(world, kind="temperature", value=31.5, note="")

    assert (seen.value, seen.member, seen.at) == (31.5, world.keeper, NOON)
    assert newest(world) == "Brooder 1: temperature: 31.5 °C"


def test_a_behaviour_is_said_in_words_in_the_history(world: World):
    see(world, kind="behaviour", word="huddled", note="")
    assert newest(world) == f"Brooder 1: behaviour: {behaviours()['huddled'].seen}"


def test_a_weighing_keeps_how_many_birds_it_is_the_mean_of(world: World):
    batch = world.add_batch("Spring")
    seen = see(world, kind="weight", value=410.0, birds=10, batch_id=batch.pk, housing_id=None, note="")

    assert (seen.value, seen.birds, seen.batch, seen.housing) == (410.0, 10, batch, None)
    assert newest(world) == "Spring: weight: 410 g"


def test_feed_left_and_notes_are_said_in_the_history(world: World):
    see(world, kind="feed_left", value=2.5, note="")
    assert newest(world) == "Brooder 1: feed left: 2.5 kg"
    see(world, note=" one limps ")
    assert newest(world) == "Brooder 1: note: one limps"


@pytest.mark.parametrize(
    ("wrong", "field"),
    [
        ({"housing_id": None}, "batch_id"),
        ({"at": NOON + timedelta(minutes=6)}, "at"),
        ({"at": NOON - timedelta(days=500)}, "at"),
        ({"kind": "smell"}, "kind"),
        ({"kind": ""}, "kind"),
        ({"kind": "behaviour", "word": "sulk"}, "word"),
        ({"kind": "behaviour", "word": ""}, "word"),
        ({"note": "   "}, "note"),
        ({"note": "n" * 501}, "note"),
        ({"kind": "weight", "value": 400.0, "birds": 0}, "birds"),
        ({"kind": "weight", "value": None}, "value"),
        ({"kind": "weight", "value": float("nan")}, "value"),
        ({"kind": "temperature", "value": float("inf")}, "value"),
    ],
)
def test_what_cannot_be_right_is_refused_at_its_field(world: World, wrong: dict[str, Any], field: str):
    assert list(refused(world, **wrong)) == [field]


@pytest.mark.parametrize("kind", list(observations.RANGES))
def test_values_are_accepted_up_to_their_bounds_and_not_beyond(world: World, kind: ObservationKind):
    low, high = observations.RANGES[kind]
    assert [see(world, kind=kind, value=value).value for value in (low, high)] == [low, high]
    for value in (low - 0.1, high + 0.1):
        assert list(refused(world, kind=kind, value=value)) == ["value"]


def test_every_mistake_is_told_at_once(world: World):
    assert list(refused(world, kind="weight", value=1.0, birds=9000, housing_id=None)) == [
        "batch_id",
        "birds",
        "value",
    ]


def test_another_farms_housing_and_batch_are_not_found(world: World, elsewhere: World):
    pen = elsewhere.add_housing("Pen 9")
    theirs = elsewhere.add_batch("Theirs", housing="Pen 9")
    for place in ({"housing_id": pen.pk}, {"batch_id": theirs.pk, "housing_id": None}):
        with pytest.raises(NotFound):
            see(world, **place)
    assert Observation.objects.count() == 0


def test_the_same_key_from_a_device_is_accepted_once(world: World):
    first = see(world, client_key="phone-7")
    assert see(world, client_key="phone-7", note="something else").pk == first.pk
    assert (Observation.objects.count(), Observation.objects.get().note) == (1, "calm")


def test_the_same_key_on_another_farm_is_another_observation(world: World, elsewhere: World):
    elsewhere.add_housing("Brooder 1")
    assert see(world, client_key="k").pk != see(elsewhere, client_key="k").pk


def test_a_child_may_say_what_it_sees(world: World):
    child = world.add_member("Kim", Role.CHILD)
    seen = observations.add(child, kind="note", note="asleep", housing_id=world.housing["Pen 1"].pk)
    assert seen.member == child.member


def test_an_observation_can_be_undone(world: World):
    see(world)
    history.undo(world.by, entry_id=HistoryEntry.objects.filter(farm=world.farm).latest("pk").pk)
    assert Observation.objects.count() == 0


def test_a_clock_a_little_ahead_is_no_mistake(world: World):
    assert see(world, at=NOON + timedelta(minutes=4)).at == NOON + timedelta(minutes=4)


@given(value=st.floats(), kind=st.sampled_from(sorted(observations.RANGES)))
def test_a_value_is_good_exactly_when_it_lies_in_its_range(value: float, kind: str):
    low, high = observations.RANGES[ObservationKind(kind)]
    told = observations._check_seen(Observation(kind=kind, value=value))
    assert (told == {}) == (low <= value <= high)
