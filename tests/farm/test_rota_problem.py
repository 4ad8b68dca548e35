"""What a farm's rows ask of the rota: its people, its open chores, what stands and what was decided."""

from __future__ import annotations

from datetime import timedelta

import pytest

from farm.models import Assignment, Away, Housing, Machine, Pin
from farm.queries import agenda, rota
from farm.queries.rota_problem import LEAST_PAST
from farm.services import chores, members, own_chores, postponing
from farm.services import rota as service
from tests.conftest import TODAY, World
from tests.farm.judging import day
from tests.farm.rota_world import able, adult, begin, key, people


@pytest.fixture
def who(world: World):
    """Ada, Ben and Cara, with 40 chicks under heat in Brooder 1."""
    found = people(world)
    world.add_batch("Browns", housing="Brooder 1")
    return found


def start(world: World, **rules):
    service.start(world.by, **({"weeks": 1, "fair_days": 14} | rules))


def asked(world: World, **more):
    return rota.problem(world.farm, TODAY, **more)


def person(world: World, name: str):
    (found,) = (each for each in asked(world).people if each.name == name)
    return found


def jobs(world: World, **more):
    return {job.key: job for job in asked(world, **more).jobs}


def tick(world: World, by, of, minutes=10, **more):
    source, due, round = of
    chores.mark(by, source=source, due=due, round=round, title="Done", minutes=minutes, **more)


def assign(world: World, of, *actors, on=None):
    source, due, round = of
    for seat, by in enumerate(actors):
        Assignment.objects.create(
            farm=world.farm, source=source, due=due, round=round, seat=seat, member=by.member, day=on or due
        )


def test_a_farm_without_a_rota_asks_nothing(world, who):
    assert rota.rules(world.farm) is None
    assert (asked(world).people, asked(world).jobs) == ((), ())


def test_a_farm_without_birds_has_people_and_no_work(world):
    people(world)
    start(world)
    assert [each.name for each in asked(world).people] == ["Ada", "Ben", "Cara"]
    assert asked(world).jobs == ()


def test_the_jobs_are_what_the_agenda_has_for_the_weeks_of_the_rules(world, who):
    start(world, weeks=2, fair_days=28)
    found = jobs(world)
    assert {job.day for job in found.values()} == {day(n) for n in range(14)}
    heat = found[key(world, "heat_check")]
    assert (heat.who, heat.needs, heat.heated, heat.people) == ("adult", frozenset({"heat"}), True, 1)
    assert (heat.group, heat.room) == ("Brooder 1", str(world.housing["Brooder 1"].pk))


def test_what_takes_no_time_is_nobodys_job(world, who):
    start(world)
    window = rota.week(world.farm, TODAY, TODAY)
    free = {work.due.item.occurrence for work in window.works if not work.due.item.minutes}
    assert not free & set(jobs(world))


def test_what_is_ticked_or_left_out_is_no_job_any_more(world, who):
    start(world)
    tick(world, who["Ada"], key(world, "feed_water"))
    tick(world, who["Ada"], key(world, "look"), state="skipped")
    assert key(world, "feed_water") not in jobs(world)
    assert key(world, "look") not in jobs(world)
    assert key(world, "feed_water", round="evening") in jobs(world)


def test_rounds_that_are_over_are_no_jobs_today_and_are_tomorrow(world, who):
    start(world)
    found = jobs(world, closed={"morning"})
    assert key(world, "feed_water") not in found
    assert key(world, "feed_water", round="evening") in found
    assert key(world, "feed_water", 1) in found
    assert key(world, "feed_water") in rota.asked(world.farm, TODAY, closed={"morning"}).closed


def test_a_chore_put_off_stays_the_same_job_on_its_new_day(world, who):
    start(world)
    (step,) = (job for job in jobs(world).values() if job.job == "heat_lower" and job.day == TODAY)
    source, due, round = step.key
    assign(world, step.key, who["Ben"])
    postponing.put_off(
        world.by, source=source, due=due, round=round, to_due=day(1), to_round="evening", reason="rain"
    )
    moved = jobs(world)[step.key]
    assert (moved.day, moved.round) == (day(1), "evening")
    assert asked(world).previous[step.key] == (str(who["Ben"].member.pk),)


def test_a_person_is_what_their_form_says(world, who):
    start(world)
    able(
        who["Ben"],
        rounds=[0, 20],
        max_week_minutes=90,
        share=50,
        prefers=["look"],
        refuses=["bedding"],
        can_dose=False,
    )
    ben, cara = person(world, "Ben"), person(world, "Cara")
    assert ben.rounds == {(0, "morning"), (6, "evening")}
    assert (ben.max_week_minutes, ben.share, ben.prefers, ben.refuses) == (90, 0.5, {"look"}, {"bedding"})
    assert ben.abilities == {"heat", "lifting", "water", "slaughter"}
    assert (ben.adult, ben.child, cara.adult, cara.child) == (True, False, False, True)


def test_whoever_left_is_not_asked_and_their_decisions_are_void(world, who):
    start(world)
    source, due, round = key(world, "look")
    Pin.objects.create(farm=world.farm, source=source, due=due, round=round, member=who["Ben"].member)
    assert asked(world).pins == {key(world, "look"): (str(who["Ben"].member.pk),)}
    members.leave(world.by, member_id=who["Ben"].member.pk)
    assert [each.name for each in asked(world).people] == ["Ada", "Cara"]
    assert asked(world).pins == {}


def test_the_past_that_counts_is_what_the_horizon_leaves_of_the_fair_days(world, who):
    start(world, weeks=1, fair_days=20)
    assert person(world, "Ada").present_before == 13
    service.change_rules(world.by, expected_version=None, fair_days=14, weeks=2)
    assert person(world, "Ada").present_before == LEAST_PAST


def test_days_away_and_weekdays_without_a_round_lower_the_days_present(world, who):
    start(world, weeks=1, fair_days=21)  # 14 days behind: two of each weekday
    able(who["Ben"], rounds=[0, 1, 3])  # Mondays and Tuesdays
    Away.objects.create(farm=world.farm, member=who["Ada"].member, start=day(-30), end=day(-10))
    assert person(world, "Ben").present_before == 4
    assert person(world, "Ada").present_before == 10
    assert person(world, "Cara").present_before == 14


def test_minutes_count_for_whoever_ticked_within_the_fair_days(world, who):
    start(world, weeks=1, fair_days=14)
    for offset, minutes in ((-8, 100), (-7, 20), (-1, 3)):
        tick(world, who["Ben"], key(world, "look", offset), minutes)
    tick(world, who["Ben"], key(world, "feed_water"), 5)
    tick(world, who["Ben"], key(world, "bedding"), 50, state="skipped")
    tick(world, who["Ada"], key(world, "vent_check", -1), 8)
    assert (person(world, "Ben").done, person(world, "Ada").done, person(world, "Cara").done) == (28, 8, 0)


def test_a_tick_without_a_member_counts_for_nobody(world, who):
    start(world)
    tick(world, who["Ben"], key(world, "look", -1), 9)
    who["Ben"].member.delete()
    assert all(each.done == 0 for each in asked(world).people)


@pytest.mark.parametrize("ticked_by", ["Ada", "Ben"])
def test_what_two_did_counts_for_both_whoever_ticks(world, who, ticked_by):
    start(world)
    assign(world, key(world, "carry", -1), who["Ada"], who["Ben"])
    tick(world, who[ticked_by], key(world, "carry", -1), 15)
    assert (person(world, "Ben").done, person(world, "Ada").done) == (15, 15)


def test_what_one_was_given_and_another_ticked_counts_for_the_other(world, who):
    start(world)
    assign(world, key(world, "look", -1), who["Ada"])
    tick(world, who["Ben"], key(world, "look", -1), 15)
    assert (person(world, "Ben").done, person(world, "Ada").done) == (15, 0)


def test_places_that_stand_together_are_one_group(world, who):
    Housing.objects.filter(name__startswith="Brooder").update(whereabouts="Barn")
    cabinet = Machine.objects.create(farm=world.farm, name="Cabinet", does="both", whereabouts="Barn")
    places = rota.places(world.farm)
    assert places[str(world.housing["Brooder 2"].pk)] == places[f"machine:{cabinet.pk}"] == "Barn"
    assert places[str(world.housing["Pen 1"].pk)] == "Pen 1"
    start(world)
    assert jobs(world)[key(world, "look")].group == "Barn"


def test_a_chore_of_no_housing_is_in_the_place_it_names_or_in_none(world):
    people(world)
    start(world)
    for title, place in (("Sweep", "Yard"), ("Order straw", "")):
        own_chores.add(world.by, title=title, start=TODAY, place=place)
    assert {job.group for job in asked(world).jobs} == {"Yard", ""}
    assert {job.room for job in asked(world).jobs} == {None}


def test_the_rota_in_force_is_read_by_the_day_it_is_done(world, who):
    assign(world, key(world, "look"), who["Ben"], who["Ada"])
    assign(world, key(world, "feed_water"), who["Ada"], on=day(3))
    window = agenda.Window(TODAY, 1)
    both = (who["Ben"].member.pk, who["Ada"].member.pk)
    assert rota.assigned(world.farm, window) == {key(world, "look"): both}


def test_more_days_away_void_what_was_decided_for_them_and_nothing_else(world, who):
    start(world)
    ben = who["Ben"].member
    for offset in (1, 2):
        source, due, round = key(world, "look", offset)
        Pin.objects.create(farm=world.farm, source=source, due=due, round=round, member=ben)
    after = rota.without(asked(world), aways=[(ben.pk, day(1), day(2))])
    assert set(after.pins) == {key(world, "look", 2)}
    (changed,) = (each for each in after.people if each.name == "Ben")
    assert changed.away == ((day(1), day(2)),)


def test_another_farms_people_and_chores_are_not_in_it(world, elsewhere, who):
    start(world)
    elsewhere.add_housing("Theirs")
    elsewhere.add_batch("Strange", housing="Theirs")
    adult(elsewhere, "Zoe")
    assert {each.name for each in asked(world).people} == {"Ada", "Ben", "Cara"}
    assert {job.group for job in asked(world).jobs} == {"Brooder 1"}


def test_the_number_of_queries_does_not_grow_with_people_and_days(world, who, django_assert_max_num_queries):
    begin(world, weeks=4, fair_days=84)
    for number in range(4):
        adult(world, f"Helper {number}")
    for offset in range(1, 15):
        tick(world, who["Ada"], key(world, "look", -offset))
    with django_assert_max_num_queries(25):
        asked(world)


def test_the_question_is_the_same_each_time(world, who):
    begin(world)
    assert asked(world) == asked(world)
    assert asked(world).seed == world.farm.pk
    assert asked(world).first_weekday == world.farm.first_weekday
    assert TODAY + timedelta(days=6) == max(job.day for job in asked(world).jobs)
