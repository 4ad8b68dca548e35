"""Routine chores: one an occupied housing, day and round, for all the birds in it."""

from dataclasses import replace

from farm.planning import agenda
from farm.planning.window import Window
from tests.planning.agenda_world import BROODED, CHICK, PENNED, REDS, curve, day, jobs, until


def ask(*stays, batches=(REDS,), start=0, days=60):
    return agenda.chores(batches, stays, Window(day(start), days))


def ages(items):
    return [i.age_days for i in items]


def test_birds_are_fed_and_watered_morning_and_evening():
    fed = jobs(ask(BROODED, days=1), "feed_water")
    assert [(i.round, i.source) for i in fed] == [
        ("morning", "room:2/feed_water"),
        ("evening", "room:2/feed_water"),
    ]


def test_a_chore_is_named_after_its_housing():
    (first, *_) = jobs(ask(BROODED, days=1), "feed_water")
    assert str(first.title) == "Brooder 2: Feed and water"


def test_minutes_count_every_fifty_birds_begun():
    def took(birds):
        return jobs(ask(replace(BROODED, birds=birds), days=1), "feed_water")[0].minutes

    assert [took(1), took(50), took(51), took(100), took(101)] == [8, 8, 11, 11, 14]


def test_batches_that_share_a_housing_share_one_chore_for_all_their_birds():
    twin = replace(REDS, key="8")
    fed = jobs(ask(BROODED, replace(BROODED, key="2", batch="8"), batches=(REDS, twin), days=1), "feed_water")
    assert [(i.batches, i.minutes) for i in fed] == [(("7", "8"), 11), (("7", "8"), 11)]


def test_chicks_are_looked_at_at_midday_too_until_day_six():
    midday = [i for i in jobs(ask(BROODED), "look") if i.round == "midday"]
    assert ages(midday) == [0, 1, 2, 3, 4, 5, 6]


def test_the_youngest_in_the_housing_decides_how_often_they_are_looked_at():
    younger = replace(REDS, key="8", hatch_day=day(5))
    stays = (BROODED, replace(BROODED, key="2", batch="8", start=day(5)))
    midday = [i for i in jobs(ask(*stays, batches=(REDS, younger)), "look") if i.round == "midday"]
    assert [i.due for i in midday] == [day(d) for d in range(12)]


def test_vents_are_checked_on_days_one_to_seven_in_the_morning():
    checks = jobs(ask(BROODED), "vent_check")
    assert ages(checks) == [1, 2, 3, 4, 5, 6, 7]
    assert {i.round for i in checks} == {"morning"}


def test_only_the_vents_of_chicks_of_that_age_take_time():
    older = replace(REDS, key="8", hatch_day=day(-10))
    stays = (replace(BROODED, birds=30), replace(BROODED, key="2", batch="8", birds=60))
    checks = jobs(ask(*stays, batches=(REDS, older)), "vent_check")
    assert {(i.batches, i.minutes) for i in checks} == {(("7",), 8)}


def test_heat_is_checked_twice_a_day_to_the_latest_day_heat_may_be_needed():
    checks = jobs(ask(BROODED), "heat_check")
    assert sorted(set(ages(checks))) == list(range(43))
    assert len(checks) == 86


def test_heat_is_not_checked_where_there_is_none():
    assert jobs(ask(replace(BROODED, heated=False)), "heat_check") == []


def test_checking_heat_is_for_adults_and_carries_the_fire_caution():
    (check, *_) = jobs(ask(BROODED), "heat_check")
    assert (check.who, check.cautions) == ("adult", ("heat_lamp", "cord"))


def test_drinkers_are_cleaned_every_day():
    assert ages(jobs(ask(BROODED, days=5), "clean_drinkers")) == [0, 1, 2, 3, 4]


def test_brooder_bedding_is_refreshed_every_other_day_counted_from_the_stay_after_the_cloth_is_off():
    assert ages(jobs(ask(BROODED, days=12), "bedding")) == [4, 6, 8, 10]


def test_bedding_days_are_the_same_in_a_window_that_starts_a_day_later():
    later = [i.due for i in jobs(ask(BROODED, start=5, days=10), "bedding")]
    assert later == [i.due for i in jobs(ask(BROODED, days=15), "bedding") if i.due >= day(5)]


def test_bedding_in_a_pen_is_weekly_and_not_on_the_day_they_move_in():
    assert [i.due for i in jobs(ask(PENNED, start=45, days=20), "bedding")] == [day(52), day(59)]


def test_bedding_every_half_day_is_done_morning_and_evening():
    wet = replace(CHICK, curves={**CHICK.curves, "bedding_every_days": curve((0, 2.0), (10, 0.5))})
    done = jobs(ask(BROODED, batches=(replace(REDS, programme=wet),), start=10, days=1), "bedding")
    assert [i.round for i in done] == ["morning", "evening"]


def test_bedding_changes_its_pace_with_age():
    slow = replace(CHICK, curves={**CHICK.curves, "bedding_every_days": curve((0, 2.0), (9, 5.0))})
    done = jobs(ask(BROODED, batches=(replace(REDS, programme=slow),), days=21), "bedding")
    assert ages(done) == [4, 6, 8, 10, 15, 20]


def test_birds_old_enough_are_let_out_in_the_morning_and_shut_in_in_the_evening():
    items = ask(PENNED, start=45, days=1)
    assert [(i.job, i.round) for i in items if i.job in ("day_out", "shut_in")] == [
        ("day_out", "morning"),
        ("shut_in", "evening"),
    ]


def test_birds_in_an_outdoor_pen_stay_in_until_they_are_old_enough_to_go_out():
    out = jobs(ask(replace(PENNED, start=day(20))), "day_out")
    assert out[0].age_days == 28


def test_birds_indoors_are_not_let_out():
    assert jobs(ask(BROODED), "day_out") + jobs(ask(BROODED), "shut_in") == []


def test_the_footbath_and_the_eggs_wait_for_their_own_conditions():
    assert {"footbath", "turn_eggs", "collect_eggs"} & {
        i.job for i in ask(BROODED, PENNED, days=120)
    } == set()


def test_an_empty_housing_asks_for_nothing_from_the_day_it_is_emptied():
    assert {i.due for i in ask(until(BROODED, day(3)), days=9)} == {day(0), day(1), day(2)}


def test_nothing_is_asked_before_the_birds_hatch():
    early = replace(BROODED, start=day(-5))
    assert min(i.due for i in ask(early, start=-10)) == day(0)


def test_a_chore_of_one_day_has_no_window_and_belongs_to_no_single_batch():
    assert {(i.until, i.batch, i.kind) for i in ask(BROODED)} == {(None, None, "chore")}
