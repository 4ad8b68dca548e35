"""Steps by age: on their day, where the birds live, with what the programme says."""

from dataclasses import replace

import pytest

from farm.planning import agenda
from farm.planning.window import Window
from farm.trade.chores import chores as chore_table
from farm.trade.load import programmes
from tests.planning.agenda_world import BROODED, CHICK, PENNED, REDS, WHOLE, day, jobs, named, until

STEPS = agenda.steps([REDS], [BROODED], WHOLE)
MOVING = [until(BROODED, day(45)), PENNED]


@pytest.mark.parametrize(
    ("job", "age"),
    [("stones_in", 0), ("cloth_off", 3), ("stones_out", 5), ("dust_bath", 14), ("low_perch", 21)],
)
def test_a_step_of_one_day_falls_on_its_age(job, age):
    (step,) = jobs(STEPS, job)
    assert (step.due, step.age_days, step.until) == (day(age), age, None)


def test_stones_come_out_of_the_drinkers_of_quail_on_day_ten():
    (out,) = jobs(agenda.steps([replace(REDS, species="quail")], [BROODED], WHOLE), "stones_out")
    assert out.age_days == 10


def test_chicks_that_come_on_day_two_find_stones_in_their_drinkers():
    (stones,) = jobs(agenda.steps([REDS], [replace(BROODED, start=day(2))], WHOLE), "stones_in")
    assert (stones.due, stones.source) == (day(2), "batch:7/stones_in/0")


def test_chicks_that_come_when_stones_leave_get_none():
    assert jobs(agenda.steps([REDS], [replace(BROODED, start=day(5))], WHOLE), "stones_in") == []


def test_the_ring_has_a_window_that_closes_after_day_ten():
    (ring,) = jobs(STEPS, "ring_off")
    assert (ring.due, ring.until, ring.source_key) == (day(7), day(11), "SASK")


@pytest.mark.parametrize("species", ["duck", "muscovy", "goose"])
def test_waterfowl_get_neither_perch_nor_dust_bath(species):
    steps = agenda.steps([replace(REDS, species=species)], [BROODED], WHOLE)
    assert jobs(steps, "low_perch") + jobs(steps, "dust_bath") == []


def test_birds_are_weighed_at_a_week_and_then_every_two_until_grown():
    assert [i.age_days for i in jobs(STEPS, "weigh")] == [7, 21, 35, 49, 63, 77]


def test_weighing_says_what_is_expected_of_males_when_the_batch_is_male():
    (first, *_) = jobs(agenda.steps([replace(REDS, sex="sexed_male")], [BROODED], WHOLE), "weigh")
    assert str(first.why) == "About 70 g a bird is expected at this age"


def test_feeders_and_drinkers_rise_every_two_weeks_from_the_first():
    edges = [i.age_days for i in STEPS if i.source.startswith("batch:7/raise_edges/")]
    assert edges == [7, 21, 35, 49, 63, 77]


def test_a_longer_feeder_edge_says_from_what_to_what():
    first, second = named(STEPS, "feeder_cm")
    assert str(first.title) == "Brooder 2: feeder edge 2.5 → 3.8 cm a bird for Reds"
    assert (first.due, second.due) == (day(7), day(21))


def test_a_longer_drinker_edge_falls_on_its_own_day():
    (edge,) = named(STEPS, "drinker_cm")
    assert (edge.due, edge.source) == (day(35), "batch:7/drinker_cm/35")


def test_a_feed_change_takes_seven_days_and_names_its_source():
    (change,) = jobs(STEPS, "feed_change")
    assert (change.due, change.until, change.source_key) == (day(42), day(49), "MERCK-B")
    assert str(change.title) == "Brooder 2: change Reds from starter to grower"


def test_a_feed_change_lists_a_quarter_a_half_and_three_quarters_with_their_days():
    (change,) = jobs(STEPS, "feed_change")
    assert [str(line) for line in change.checklist[-4:]] == [
        "From 24 May: 25 % grower, the rest starter",
        "From 26 May: 50 % grower, the rest starter",
        "From 29 May: 75 % grower, the rest starter",
        "From 31 May: grower alone",
    ]


def test_the_first_hours_outdoors_open_on_warm_days_and_close_when_feathered():
    (out,) = named(STEPS, "first_out")
    assert (out.due, out.until, out.job) == (day(21), day(43), "day_out")


def test_grit_is_for_birds_outdoors_only():
    assert jobs(STEPS, "grit") == []
    assert [i.age_days for i in jobs(agenda.steps([REDS], MOVING, WHOLE), "grit")] == [49, 56, 63, 70, 77, 84]


def test_a_step_follows_the_birds_to_the_housing_they_live_in_that_day():
    weighed = jobs(agenda.steps([REDS], MOVING, WHOLE), "weigh")
    assert [i.room for i in weighed] == ["2", "2", "2", "3", "3", "3"]


def test_birds_that_live_nowhere_that_day_get_no_step():
    gap = [until(BROODED, day(20)), replace(PENNED, start=day(22))]
    assert 21 not in [i.age_days for i in jobs(agenda.steps([REDS], gap, WHOLE), "weigh")]


def test_a_split_batch_has_one_item_a_housing_and_the_first_housing_keeps_the_plain_id():
    split = replace(BROODED, key="2", room="5", room_name="Brooder 5", birds=10, start=day(10))
    cloth = jobs(agenda.steps([REDS], [BROODED, split], WHOLE), "dust_bath")
    assert [(i.source, i.room) for i in cloth] == [
        ("batch:7/dust_bath/14", "2"),
        ("batch:7/dust_bath/14/room:5", "5"),
    ]


def test_two_parts_of_a_batch_in_one_housing_are_one_item_for_all_their_birds():
    part = replace(BROODED, key="2", birds=30)
    (edge,) = [i for i in agenda.steps([REDS], [BROODED, part], WHOLE) if i.source == "batch:7/raise_edges/7"]
    assert edge.minutes == 5 + 2 * 2  # 70 birds: two shares of fifty


def test_the_move_is_due_when_heat_may_go_and_no_move_is_planned():
    (due,) = named(STEPS, "move_due")
    assert (due.due, due.until, due.minutes) == (day(35), day(43), 0)


def test_no_move_is_due_when_the_plan_moves_them_in_time():
    assert (
        named(
            agenda.steps([REDS], [until(BROODED, day(43)), replace(PENNED, start=day(43))], WHOLE), "move_due"
        )
        == []
    )


def test_a_batch_arrives_once_with_all_its_birds():
    (arrival,) = jobs(agenda.steps([REDS], MOVING, WHOLE), "arrival")
    assert (arrival.due, str(arrival.title)) == (day(0), "Brooder 2: settle in 40 birds of Reds")
    assert arrival.minutes == 20


def test_arrivals_are_given_water_before_feed():
    (arrival,) = jobs(STEPS, "arrival")
    assert "Dip each beak: water before feed" in [str(line) for line in arrival.checklist]


def test_a_bird_arriving_alone_is_said_in_the_singular():
    (arrival,) = jobs(agenda.steps([REDS], [replace(BROODED, birds=1)], WHOLE), "arrival")
    assert str(arrival.title) == "Brooder 2: settle in 1 bird of Reds"


def test_poults_are_awaited_two_days_in_warmed_housing():
    (warm,) = jobs(agenda.steps([replace(REDS, species="turkey")], [BROODED], WHOLE), "preheat")
    assert warm.due == day(-2)


def test_isolation_of_bought_in_birds_ends_thirty_days_after_they_came():
    bought = replace(REDS, source="intake", arrived_on=day(1))
    (ends,) = named(agenda.steps([bought], [BROODED], WHOLE), "isolation_ends")
    assert (ends.due, ends.source_key) == (day(31), "EXT-AI")


def test_a_keepers_own_date_for_the_end_of_isolation_counts():
    bought = replace(REDS, source="intake", arrived_on=day(1), isolation_until=day(45))
    (ends,) = named(agenda.steps([bought], [BROODED], WHOLE), "isolation_ends")
    assert ends.due == day(45)


def test_birds_hatched_at_home_are_not_isolated():
    assert named(agenda.steps([replace(REDS, arrived_on=day(0))], [BROODED], WHOLE), "isolation_ends") == []


def test_a_job_the_programme_does_not_list_is_never_asked():
    plain = replace(CHICK, jobs=("weigh",))
    steps = agenda.steps([replace(REDS, programme=plain)], [BROODED], Window(day(0), 20))
    assert {i.job for i in steps} == {"weigh"}


def test_a_stay_of_a_batch_that_is_not_given_is_refused_by_name():
    with pytest.raises(ValueError, match="stay 1 is of batch 7, which is not given"):
        agenda.steps([], [BROODED], WHOLE)


def test_a_batch_without_any_stay_asks_for_nothing():
    assert agenda.agenda([replace(REDS, source="intake", arrived_on=day(0))], [], WHOLE) == ()


@pytest.mark.parametrize("key", sorted(programmes()))
def test_every_built_in_programme_gives_a_complete_agenda(key):
    programme = programmes()[key]
    batch = replace(REDS, programme=programme, species=programme.species)
    items = agenda.agenda([batch], MOVING, WHOLE)
    assert {"preheat", "arrival", "heat_lower", "feed_water", "look", "clean_out", "move"} <= {
        i.job for i in items
    }
    assert {i.job for i in items} <= set(programme.jobs)
    assert all(str(i.title) and str(i.why) and i.source_key for i in items)


def test_minutes_hands_and_cautions_are_those_of_the_chore_table():
    table = chore_table()
    for item in agenda.agenda([REDS], MOVING, WHOLE):
        assert (item.who, item.cautions) == (table[item.job].who, table[item.job].cautions)
