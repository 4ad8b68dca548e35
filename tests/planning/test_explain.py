"""Breaches in plain sentences, with their numbers, days and batches."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from hypothesis import given
from occupancy_strategies import APART, farms
from occupancy_world import (
    APRIL,
    BROODER,
    DUCKS,
    LATER,
    LAYERS,
    PADDOCK,
    PEN,
    POULTS,
    day,
    load,
    needs,
    rooms,
    stay,
)

from farm.phrase import N_, Phrase
from farm.planning import explain
from farm.planning.breach import KINDS
from farm.planning.check import breaches
from farm.planning.occupancy import occupancy
from farm.planning.window import Window

TURKEYS_ALONE = [("turkey", "chicken")]


def said(*parts, kind, unhoused=None, apart=(), **world):
    """The sentences about breaches of one kind."""
    full = load(*parts, **world)
    judged = breaches(full, unhoused=unhoused, apart=apart)
    return [str(explain.sentence(breach, full)) for breach in judged if breach.kind == kind]


def test_a_room_outgrown_is_told_with_the_age_its_birds_pass():
    assert said(stay(LAYERS, BROODER, 0, None, 40), kind="room") == [
        "Brooder 2 is 3.0 m² short on 10 May, when the 40 layer chicks hatched 12 April pass 4 weeks: "
        "15 birds too many"
    ]


def test_one_bird_too_many_at_one_week_is_told_in_the_singular():
    early = replace(LAYERS, needs=needs(step=7, area=(0.1, 0.125)))
    assert said(stay(early, BROODER, 0, None, 41), kind="room", groups=(early,)) == [
        "Brooder 2 is 0.1 m² short on 19 April, when the 40 layer chicks hatched 12 April pass 1 week: "
        "1 bird too many"
    ]


def test_an_age_that_is_no_whole_week_is_told_in_days():
    odd = replace(LAYERS, needs=needs(step=10))
    assert said(stay(odd, BROODER, 0, None, 40), kind="room", groups=(odd,)) == [
        "Brooder 2 is 3.0 m² short on 22 April, when the 40 layer chicks hatched 12 April are 10 days old: "
        "15 birds too many"
    ]


def test_a_room_overfilled_by_an_arrival_is_told_with_the_batch_that_moves_in():
    crowd = said(stay(LAYERS, BROODER, 0, 20, 40), stay(LATER, BROODER, 12, 20, 20), kind="room")
    assert crowd == [
        "Brooder 2 is 1.0 m² short on 24 April, when the 20 layer chicks hatched 22 April move in: "
        "10 birds too many"
    ]


def test_more_birds_of_a_batch_that_is_there_already_are_told_as_more():
    joined = said(
        stay(LAYERS, BROODER, 0, 9, 30, key="a"), stay(LAYERS, BROODER, 4, 9, 25, key="b"), kind="room"
    )
    assert joined == [
        "Brooder 2 is 0.5 m² short on 16 April, when more of the 40 layer chicks hatched 12 April move in: "
        "5 birds too many"
    ]


def test_the_larger_of_two_rises_on_one_day_is_the_one_told():
    # On day 28 the layers' step adds 4 m², the arriving ducks 12 times 0.2 m².
    both = said(stay(LAYERS, BROODER, 0, 40, 40), stay(DUCKS, BROODER, 28, 40, 12), kind="room")
    assert both == [
        "Brooder 2 is 5.4 m² short on 10 May, when the 40 layer chicks hatched 12 April pass 4 weeks: "
        "27 birds too many"
    ]


def test_a_room_too_small_since_before_the_window_is_told_without_a_cause():
    since = said(
        stay(LAYERS, BROODER, -10, 5, 60), kind="room", groups=(replace(LAYERS, hatch_day=day(-10)),)
    )
    assert since == ["Brooder 2 is 1.0 m² short on 12 April: 10 birds too many"]


def test_a_stay_that_starts_on_the_windows_first_day_is_an_arrival():
    assert said(stay(LAYERS, BROODER, 0, 5, 60), kind="room") == [
        "Brooder 2 is 1.0 m² short on 12 April, when the 40 layer chicks hatched 12 April move in: "
        "10 birds too many"
    ]


def test_a_small_shortage_is_never_told_as_nothing():
    assert said(stay(LAYERS, BROODER, 0, 5, 40), kind="room", rooms=rooms(brooder={"area_m2": 3.997})) == [
        "Brooder 2 is 0.003 m² short on 12 April, when the 40 layer chicks hatched 12 April move in: "
        "1 bird too many"
    ]


def test_short_feeders_and_drinkers_are_told_in_centimetres():
    edges = rooms(brooder={"feeder_cm": 70.0, "drinker_cm": 38.0})
    assert said(stay(LAYERS, BROODER, 0, 5, 40), kind="feeder", rooms=edges) == [
        "Brooder 2 is 10.0 cm of feeder short on 12 April, when the 40 layer chicks hatched 12 April move in: "
        "5 birds too many"
    ]
    assert said(stay(LAYERS, BROODER, 0, 5, 40), kind="drinker", rooms=edges) == [
        "Brooder 2 is 2.0 cm of drinker short on 12 April, when the 40 layer chicks hatched 12 April move in: "
        "2 birds too many"
    ]


def test_birds_in_the_cold_are_told_with_their_last_day():
    assert said(stay(LAYERS, PEN, 33, None, 40), kind="heat") == [
        "Pen 1 has no heat, but the 40 layer chicks hatched 12 April in it need heat from 15 May to 16 May: "
        "40 birds in the cold"
    ]


def test_ages_too_far_apart_are_told_with_the_gap_and_what_is_allowed():
    shared = said(
        stay(LAYERS, PADDOCK, 40, 50, 40),
        stay(LATER, PADDOCK, 45, 50, 20),
        kind="age_gap",
        rooms=rooms(paddock={"max_age_gap_days": 7}),
    )
    assert shared == [
        "The 40 layer chicks hatched 12 April and the 20 layer chicks hatched 22 April share Paddock 1 "
        "from 27 May to 31 May: 10 days apart in age, 7 days allowed, 20 birds too many"
    ]


def test_species_that_never_share_are_told_together():
    shared = stay(LAYERS, PADDOCK, 40, 50, 40), stay(POULTS, PADDOCK, 45, 46, 10)
    assert said(*shared, kind="species", apart=TURKEYS_ALONE) == [
        "Paddock 1 holds the 40 layer chicks hatched 12 April and the 10 poults hatched 12 April together "
        "on 27 May, species that must never share: 10 birds too many"
    ]


def test_a_batch_in_a_room_kept_for_others_is_told_alone():
    kept = rooms(pen={"species": frozenset({"turkey"})})
    assert said(stay(DUCKS, PEN, 40, 42, 12), kind="species", rooms=kept) == [
        "Pen 1 is kept for other species, but the 12 ducklings hatched 12 April are in it from 22 May to "
        "23 May: 12 birds too many"
    ]


def test_three_batches_in_a_room_for_one_are_listed():
    three = tuple(stay(group, PADDOCK, 45, 46, 5) for group in (LAYERS, LATER, DUCKS))
    assert said(*three, kind="one_batch", rooms=rooms(paddock={"one_batch": True})) == [
        "Paddock 1 is for one batch at a time, but the 12 ducklings hatched 12 April, the 20 layer chicks "
        "hatched 22 April and the 40 layer chicks hatched 12 April are in it together on 27 May: "
        "10 birds too many"
    ]


def test_a_rest_cut_short_is_told_with_the_day_the_room_is_ready():
    assert said(stay(LAYERS, PEN, 0, 10, 40), stay(DUCKS, PEN, 15, None, 12), kind="rest") == [
        "Pen 1 has to rest until 6 May after the 40 layer chicks hatched 12 April, but the 12 ducklings "
        "hatched 12 April are in it from 27 April to 5 May: 9 days too soon"
    ]


def test_birds_in_a_room_out_of_use_are_told():
    assert said(stay(DUCKS, PEN, 40, 41, 12), kind="service", rooms=rooms(pen={"in_service_to": day(3)})) == [
        "Pen 1 is out of use on 22 May, but the 12 ducklings hatched 12 April are in it: "
        "12 birds without a place"
    ]


def test_birds_without_housing_are_told_with_the_floor_they_ask_for():
    outside = np.zeros(APRIL.days, dtype=np.int64)
    outside[3:5] = 7
    assert said(unhoused={"layers": outside}, kind="unhoused") == [
        "7 of the 40 layer chicks hatched 12 April have no housing from 15 April to 16 April and ask for 0.7 m²"
    ]


def test_a_batch_without_a_description_is_told_by_its_name():
    plain = replace(DUCKS, describe="")
    assert "the Pekins" in said(stay(plain, PEN, 0, 2, 12), kind="heat", groups=(plain,))[0]


def test_a_description_may_be_a_phrase_of_its_own():
    spoken = replace(DUCKS, describe=Phrase(N_("%(birds)d ducklings"), {"birds": 12}))
    assert "the 12 ducklings" in said(stay(spoken, PEN, 0, 2, 12), kind="heat", groups=(spoken,))[0]


def test_every_kind_of_breach_has_a_sentence():
    assert set(explain._SENTENCES) == set(KINDS)


@pytest.mark.parametrize("length, words", [(1, "on 22 May"), (2, "from 22 May to 23 May")])
def test_a_span_names_the_last_day_not_the_day_after(length, words):
    full = load(stay(DUCKS, PEN, 40, 40 + length, 12), rooms=rooms(pen={"in_service_to": date(2031, 5, 1)}))
    (breach,) = breaches(full)
    assert str(explain.span(breach)) == words


def test_the_sentence_of_the_trade_reads_as_a_keeper_would_say_it():
    # 40 chicks need 0.093 m² each from day 35 on: 3.72 m² of a brooder of 3.1.
    spring = Window(date(2031, 5, 1), 60)
    reds = replace(
        LAYERS, hatch_day=date(2031, 4, 12), needs=needs(area=(0.07, 0.093), step=35, heat_days=42)
    )
    box = replace(BROODER, area_m2=3.1)
    part = stay(reds, box, 0, 40, 40, window=spring)
    full = occupancy(spring, (box,), (reds,), (part,))
    (breach,) = breaches(full)
    assert str(explain.sentence(breach, full)) == (
        "Brooder 2 is 0.6 m² short on 17 May, when the 40 layer chicks hatched 12 April pass 5 weeks: "
        "7 birds too many"
    )


@given(farms())
def test_every_breach_of_any_farm_can_be_said(farm):
    full = occupancy(*farm)
    for breach in breaches(full, apart=APART):
        words = str(explain.sentence(breach, full))
        assert "%(" not in words
        assert breach.room in words


def test_a_shortage_that_grows_says_when_it_begins_too():
    grown = said(stay(LAYERS, BROODER, 0, 20, 60), stay(DUCKS, BROODER, 3, 20, 12), kind="room")

    # 60 layer chicks ask for 6 of 5 m²; 12 ducklings more ask for 1.2 m² on top.
    assert grown == [
        "Brooder 2 is 2.2 m² short on 15 April, when the 12 ducklings hatched 12 April move in: "
        "22 birds too many; the shortage begins on 12 April"
    ]
