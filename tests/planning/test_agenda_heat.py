"""Heat in the agenda: before they come, week by week, and off only when a keeper says so."""

from dataclasses import replace

from farm.planning import agenda
from tests.planning.agenda_world import BROODED, CHICK, PENNED, REDS, WHOLE, curve, day, jobs, named, until


def test_heat_goes_down_each_week_with_both_temperatures_in_the_title():
    lower = jobs(agenda.steps([REDS], [BROODED], WHOLE), "heat_lower")
    assert [(str(i.title), i.age_days) for i in lower] == [
        ("Brooder 2: 35 → 32 °C", 7),
        ("Brooder 2: 32 → 29 °C", 14),
        ("Brooder 2: 29 → 27 °C", 21),
        ("Brooder 2: 27 → 24 °C", 28),
        ("Brooder 2: 24 → 21 °C", 35),
    ]


def test_a_lowering_has_a_stable_id_its_source_and_is_for_adults():
    (first, *_) = jobs(agenda.steps([REDS], [BROODED], WHOLE), "heat_lower")
    assert first.occurrence == ("batch:7/heat_lower/7", day(7), "morning")
    assert (first.source_key, first.who, first.minutes) == ("PSU2023", "adult", 5)


def test_housing_without_heat_is_never_asked_to_lower_it():
    cold = replace(BROODED, heated=False)
    steps = agenda.steps([REDS], [cold], WHOLE)
    assert jobs(steps, "heat_lower") + jobs(steps, "heat_off") + jobs(steps, "preheat") == []


def test_a_programme_that_holds_a_temperature_is_not_lowered_on_that_knot():
    held = replace(CHICK, curves={**CHICK.curves, "temp_c": curve((0, 35.0), (7, 35.0), (14, 32.0))})
    lower = jobs(agenda.steps([replace(REDS, programme=held)], [BROODED], WHOLE), "heat_lower")
    assert [i.age_days for i in lower] == [14]


def test_no_lowering_is_asked_on_or_after_the_last_heated_day():
    knots = curve((0, 35.0), (41, 25.0), (42, 21.0), (49, 18.0))
    long = replace(CHICK, curves={**CHICK.curves, "temp_c": knots})
    lower = jobs(agenda.steps([replace(REDS, programme=long)], [BROODED], WHOLE), "heat_lower")
    assert [i.age_days for i in lower] == [41]


def test_heat_off_is_a_window_from_the_earliest_to_the_latest_day():
    (off,) = jobs(agenda.steps([REDS], [BROODED], WHOLE), "heat_off")
    assert (off.due, off.until) == (day(35), day(43))


def test_heat_off_says_feathered_and_night_low_and_that_the_keeper_confirms():
    (off,) = jobs(agenda.steps([REDS], [BROODED], WHOLE), "heat_off")
    assert str(off.why) == (
        "Never by age alone: when they are feathered (about day 42) and the night low in the housing stays"
        " at or"
        " above 16 °C, or earlier where the room keeps 21 °C day and night. You confirm it."
    )


def test_birds_that_come_to_heat_inside_the_window_get_the_proposal_on_that_day():
    late = replace(BROODED, start=day(38))
    (off,) = jobs(agenda.steps([REDS], [late], WHOLE), "heat_off")
    assert (off.due, off.until) == (day(38), day(43))


def test_birds_that_come_to_heat_after_the_window_get_no_proposal():
    assert jobs(agenda.steps([REDS], [replace(BROODED, start=day(43))], WHOLE), "heat_off") == []


def test_the_brooder_is_heated_the_day_before_birds_come():
    (warm,) = jobs(agenda.steps([REDS], [BROODED], WHOLE), "preheat")
    assert (warm.due, warm.room, str(warm.title)) == (day(-1), "2", "Brooder 2: pre-heat to 35 °C for Reds")


def test_chicks_a_week_old_are_awaited_at_the_temperature_of_their_age():
    (warm,) = jobs(agenda.steps([REDS], [replace(BROODED, start=day(8))], WHOLE), "preheat")
    assert (warm.due, str(warm.title)) == (day(7), "Brooder 2: pre-heat to 32 °C for Reds")


def test_a_second_brooder_is_heated_before_birds_that_still_need_it_move_in():
    moved = replace(BROODED, key="2", room="5", room_name="Brooder 5", start=day(20))
    warm = jobs(agenda.steps([REDS], [until(BROODED, day(20)), moved], WHOLE), "preheat")
    assert [(i.due, i.room) for i in warm] == [(day(-1), "2"), (day(19), "5")]


def test_birds_past_their_heat_need_no_warm_housing():
    assert jobs(agenda.steps([REDS], [replace(BROODED, start=day(42))], WHOLE), "preheat") == []


def test_housing_already_as_warm_is_not_heated_again():
    mates = replace(REDS, key="8", hatch_day=day(2))
    joining = replace(BROODED, key="2", batch="8", start=day(2))
    warm = jobs(agenda.steps([REDS, mates], [BROODED, joining], WHOLE), "preheat")
    assert [i.batch for i in warm] == ["7"]


def test_a_cooler_brooder_is_warmed_again_for_younger_chicks():
    younger = replace(REDS, key="8", hatch_day=day(10))
    joining = replace(BROODED, key="2", batch="8", start=day(10))
    warm = jobs(agenda.steps([REDS, younger], [BROODED, joining], WHOLE), "preheat")
    assert [(i.batch, i.due) for i in warm] == [("7", day(-1)), ("8", day(9))]


def test_shared_heat_follows_the_batch_that_needs_it_warmest():
    younger = replace(REDS, key="8", name="Blues", hatch_day=day(5))
    joining = replace(BROODED, key="2", batch="8", start=day(5))
    lower = jobs(agenda.steps([REDS, younger], [BROODED, joining], WHOLE), "heat_lower")
    both = ("7", "8")
    assert [(i.batch, i.due, i.batches) for i in lower[:2]] == [("8", day(12), both), ("8", day(19), both)]
    assert {i.batch for i in lower} == {"8"}


def test_two_batches_of_one_hatch_day_lower_their_shared_heat_once():
    twin = replace(REDS, key="8")
    steps = agenda.steps([REDS, twin], [BROODED, replace(BROODED, key="2", batch="8")], WHOLE)
    assert [i.due for i in jobs(steps, "heat_lower")] == [day(7), day(14), day(21), day(28), day(35)]
    assert len(jobs(steps, "heat_off")) == 1


def test_heat_stays_on_for_the_younger_when_the_older_could_do_without():
    younger = replace(REDS, key="8", hatch_day=day(5))
    joining = replace(BROODED, key="2", batch="8", start=day(5))
    (off,) = jobs(agenda.steps([REDS, younger], [BROODED, joining], WHOLE), "heat_off")
    assert (off.batch, off.due) == ("8", day(40))


def test_a_batch_that_moves_out_of_heat_is_asked_for_nothing_about_it_afterwards():
    steps = agenda.steps([REDS], [until(BROODED, day(45)), PENNED], WHOLE)
    assert all(i.room == "2" for i in jobs(steps, "heat_lower") + jobs(steps, "heat_off"))


def test_birds_are_cooled_for_five_days_before_they_move_outdoors():
    (cooling,) = named(agenda.steps([REDS], [until(BROODED, day(45)), PENNED], WHOLE), "acclimatise")
    assert (cooling.due, cooling.until, cooling.room) == (day(40), day(45), "2")


def test_birds_that_move_indoors_need_no_cooling():
    inside = replace(PENNED, indoor=True)
    assert named(agenda.steps([REDS], [until(BROODED, day(45)), inside], WHOLE), "acclimatise") == []
