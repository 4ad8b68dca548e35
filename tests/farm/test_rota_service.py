"""The rota worked out: begun, renewed when the farm changes, left alone when it does not; records of the past stay."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from django.db import connection

from farm.errors import NotAllowed, NotFound, Stale
from farm.models import Assignment, Away, Batch, Farm, HistoryEntry, RotaRules
from farm.planning import rota as engine
from farm.queries import rota as reads
from farm.services import chores, counts, rota
from farm.services.rota import rota_changed
from tests.conftest import NOON, TODAY, World
from tests.farm.judging import day, everything, newest, refused, version
from tests.farm.rota_world import able, adult, begin, key, people, refresh, rows

HOUR = timedelta(hours=1)


@pytest.fixture
def who(world: World):
    found = people(world)
    world.add_batch("Browns", housing="Brooder 1")
    return found


@pytest.fixture(autouse=True)
def _quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """No test here needs the best rota there is."""
    monkeypatch.setattr(rota, "STEPS", 4_000)


@pytest.fixture
def told():
    """What `rota_changed` has said, one dict a time."""
    heard = []

    def hear(sender, **said):
        heard.append(said)

    rota_changed.connect(hear)
    yield heard
    rota_changed.disconnect(hear)


def rules(world: World) -> RotaRules:
    found = reads.rules(world.farm)
    assert found is not None
    return found


def sent(act) -> list[str]:
    """Return the jobs that `act` asks for."""
    connection.run_on_commit.clear()
    act()
    return [call.args[0].name for _, call, _ in connection.run_on_commit]


def sick(world: World, by, start=0, end=3):
    Away.objects.create(farm=world.farm, member=by.member, start=day(start), end=day(end))
    Farm.objects.filter(pk=world.farm.pk).update(version=version(world.farm) + 1)


def test_starting_and_working_out_gives_every_chore_to_somebody_who_may(world, who):
    assert begin(world) > 0
    asked = reads.problem(world.farm, TODAY)
    assert set(asked.previous) == {job.key for job in asked.jobs}
    assert engine.check(asked, asked.previous) == ()
    assert rules(world).unfilled == []


def test_working_it_out_leaves_no_line_in_the_history(world, who):
    rota.start(world.by)
    entry = newest()
    refresh(world)
    assert newest() == entry
    assert entry.summary == "Rota started, 4 weeks ahead"


def test_only_keepers_begin_change_and_end_it(world, who):
    for act in (
        lambda: rota.start(who["Ben"]),
        lambda: rota.change_rules(who["Ben"], expected_version=None, weeks=2),
        lambda: rota.stop(who["Ben"]),
    ):
        with pytest.raises(NotAllowed):
            act()


def test_a_second_rota_is_refused(world):
    rota.start(world.by)
    assert refused(lambda: rota.start(world.by)) == {"": ["This farm has a rota already."]}


@pytest.mark.parametrize(
    ("field", "value"), [("weeks", 0), ("weeks", 9), ("fair_days", 13), ("missed_after", 5)]
)
def test_numbers_out_of_range_are_told_by_field(world, field, value):
    assert list(refused(lambda: rota.start(world.by, **{field: value}))) == [field]


def test_rules_change_one_by_one_and_a_stale_form_is_refused(world, who):
    first = rota.start(world.by)
    changed = rota.change_rules(world.by, expected_version=first.version, weeks=2)
    assert (changed.weeks, changed.fair_days, changed.missed_after) == (2, 42, 90)
    with pytest.raises(Stale):
        rota.change_rules(world.by, expected_version=first.version, weeks=3)
    assert list(refused(lambda: rota.change_rules(world.by, expected_version=None, weeks=10))) == ["weeks"]


def test_more_weeks_are_given_out_at_the_next_working_out(world, who):
    begin(world)
    rota.change_rules(world.by, expected_version=None, weeks=2)
    refresh(world)
    assert max(key[1] for key in rows(world)) == day(13)


def test_ending_it_keeps_what_was_given_out_on_past_days(world, who):
    begin(world)
    later = NOON + timedelta(days=2)
    rota.stop(who["Ada"])
    assert rows(world) == {}
    assert reads.rules(world.farm) is None
    begin(world)
    by = able(who["Ada"])
    past = {key: who for key, who in rows(world).items() if key[1] < day(2)}
    rota.stop(type(by)(by.farm_id, by.face, later, day(2), by.member, by.login))
    assert rows(world) == past
    with pytest.raises(NotFound):
        rota.stop(world.by)


def test_worked_out_twice_nothing_is_written_the_second_time(world, who):
    begin(world)
    before = everything()
    assert refresh(world) == 0
    assert everything() == before


def test_forced_to_work_it_out_again_the_same_people_do_the_same(world, who):
    begin(world, weeks=2, fair_days=28)
    before, was = rows(world), version(world.farm)
    RotaRules.objects.update(made_of="")
    assert refresh(world) == 0
    assert (rows(world), version(world.farm)) == (before, was)


def test_a_rota_is_made_once_more_on_the_next_day_with_one_day_more(world, who):
    begin(world)
    before = rows(world)
    refresh(world, NOON + timedelta(days=1))
    after = rows(world)
    assert {key[1] for key in after} - {key[1] for key in before} == {day(7)}
    assert {key: who for key, who in after.items() if key[1] == TODAY} == {
        key: who for key, who in before.items() if key[1] == TODAY
    }


def test_the_farms_version_rises_once_when_the_rota_changes_and_calendars_hear(world, who):
    rota.start(world.by)
    was = version(world.farm)
    assert sent(lambda: refresh(world)) == ["refresh_calendars"]
    assert version(world.farm) == was + 1


def test_no_birds_make_an_empty_rota(world):
    people(world)
    assert begin(world) == 0
    assert rows(world) == {}
    assert reads.fairness(world.farm, TODAY)[0].target == 0


def test_with_nobody_to_do_it_every_chore_is_open_with_the_reason(world, who):
    for by in who.values():
        able(by, rounds=[])
    assert begin(world) == 0
    short = reads.short(rules(world))
    assert set(short) == {job.key for job in reads.problem(world.farm, TODAY).jobs}
    assert all(str(each.reason) for each in short.values())
    assert "is there" in str(short[key(world, "look")].reason)


def test_what_only_an_absent_adult_may_do_is_explained_with_who_could(world, who):
    able(who["Ben"], can_heat=False)
    able(who["Ada"], rounds=[code for code in range(21) if code % 3 == 0])
    begin(world)
    short = reads.short(rules(world))[key(world, "heat_check", round="evening")]
    assert short.missing == 1
    assert any("Ada" in str(way) for way in short.would_fill)


def test_the_days_of_somebody_away_go_to_others_and_the_rest_mostly_stays(world, who):
    adult(world, "Dora")
    begin(world, weeks=2, fair_days=28)
    before = rows(world)
    soon = {person for key, people in before.items() if key[1] < day(3) for person in people}
    gone = next(actor for actor in who.values() if actor.member.pk in soon)
    sick(world, gone)
    assert refresh(world) > 0
    after, ill = rows(world), gone.member.pk
    assert not any(ill in people for key, people in after.items() if key[1] < day(3))
    later = [key for key in before if key[1] >= day(5)]
    kept = sum(before[key] == after[key] for key in later)
    assert kept >= 0.75 * len(later)


def test_a_child_never_has_heat_alone_nor_what_is_for_adults(world, who):
    begin(world, weeks=4, fair_days=42)
    cara = who["Cara"].member.pk
    hers = {key for key, people in rows(world).items() if cara in people}
    assert hers
    assert not {source.split("/")[1] for source, _, _ in hers} & {"heat_check", "heat_lower", "look"}


def test_nobody_is_given_what_they_refuse_or_rounds_they_are_not_there_for(world, who):
    able(who["Ada"], refuses=["look"])
    able(who["Ben"], rounds=[code for code in range(21) if code % 3 != 2])
    begin(world)
    ada, ben = who["Ada"].member.pk, who["Ben"].member.pk
    for (source, _, round), given in rows(world).items():
        assert not (ada in given and source.endswith("/look"))
        assert not (ben in given and round == "evening")


def test_shares_of_the_work_are_even_over_the_weeks(world, who):
    world.add_batch("Reds", housing="Brooder 2", birds=60, age=5)
    begin(world, weeks=4, fair_days=42)
    for row in reads.fairness(world.farm, TODAY):
        if row.why is None:
            assert abs(row.off) <= max(15, 0.03 * row.target), row


def test_chores_of_a_round_that_is_over_stay_with_whoever_had_them(world, who):
    begin(world)
    morning = {k: people for k, people in rows(world).items() if k[1:] == (TODAY, "morning")}
    (had,) = {people for k, people in morning.items() if k == key(world, "heat_check")}
    absent = next(by for by in who.values() if by.member.pk == had[0])
    sick(world, absent)
    refresh(world, NOON + 2 * HOUR)  # 14:00 in Berlin: midday has begun
    after = rows(world)
    assert {k: after[k] for k in morning} == morning
    assert absent.member.pk not in after[key(world, "heat_check", round="evening")]


def test_before_midday_the_morning_can_still_change_hands(world, who):
    begin(world)
    had = rows(world)[key(world, "heat_check")][0]
    sick(world, next(by for by in who.values() if by.member.pk == had))
    refresh(world)
    assert rows(world)[key(world, "heat_check")] != (had,)


@pytest.mark.parametrize(
    ("clock", "closed"),
    [("06:00", set()), ("12:29", set()), ("12:30", {"morning"}), ("18:30", {"morning", "midday"})],
)
def test_a_round_is_over_when_the_next_begins(world, clock, closed):
    farm = Farm.objects.get(pk=world.farm.pk)
    at = datetime.fromisoformat(f"2026-05-01T{clock}+02:00")
    assert rota.closed_rounds(farm, at) == closed


def test_what_is_ticked_keeps_the_record_of_who_was_to_do_it(world, who):
    begin(world)
    source, due, round = mine = key(world, "feed_water")
    had = rows(world)[mine]
    chores.mark(who["Ben"], source=source, due=due, round=round, title="Done", minutes=8)
    sick(world, next(by for by in who.values() if by.member.pk in had))
    refresh(world)
    assert rows(world)[mine] == had


def test_rows_of_work_that_is_no_more_go(world, who):
    begin(world)
    assert Assignment.objects.filter(source__contains="feed_water", day__gt=TODAY).exists()
    counts.add(world.by, batch_id=Batch.objects.get().pk, kind="sold", birds=40, day=TODAY)
    refresh(world)
    assert not Assignment.objects.filter(source__contains="feed_water", day__gt=TODAY).exists()


def test_whose_work_changes_is_told_once_with_day_round_and_people(world, who, told):
    begin(world)
    assert told == []  # nobody had anything before
    ben = who["Ben"].member
    sick(world, who["Ben"], 0, 7)
    changed = refresh(world)
    (said,) = told
    assert (said["farm"].pk, said["now"], said["by_member"]) == (world.farm.pk, NOON, None)
    assert len(said["changes"]) == changed
    assert any(str(ben.pk) in each.before and str(ben.pk) not in each.after for each in said["changes"])


def test_a_new_day_at_the_end_is_news_to_nobody(world, who, told):
    begin(world)
    refresh(world, NOON + timedelta(days=1))
    assert all(each.day < day(7) for said in told for each in said["changes"])


def test_a_farm_that_changes_meanwhile_is_worked_out_once_more(world, who, monkeypatch):
    rota.start(world.by)
    tries = _busy(monkeypatch, world, times=1)
    assert refresh(world) > 0
    assert len(tries) == 2


def test_a_farm_that_never_rests_is_left_for_later(world, who, monkeypatch):
    rota.start(world.by)
    tries = _busy(monkeypatch, world, times=5)
    assert "refresh_rota" in sent(lambda: refresh(world))
    assert len(tries) == 2
    assert rows(world) == {}


def _busy(monkeypatch, world: World, times: int) -> list[int]:
    """Let somebody write to the farm while it is worked out, so many times."""
    solve, tries = engine.solve, list[int]()

    def and_write(problem, **more):
        tries.append(1)
        if len(tries) <= times:
            world.add_housing(f"Shed {len(tries)}")
        return solve(problem, **more)

    monkeypatch.setattr(engine, "solve", and_write)
    return tries


def test_an_exact_solver_may_look_too_and_never_makes_it_worse(world, who):
    begin(world)
    asked = reads.problem(world.farm, TODAY)
    cost = engine.score(asked, asked.previous).cost
    RotaRules.objects.update(made_of="")
    rota.refresh(farm_id=world.farm.pk, now=NOON, polish_seconds=1.0)
    asked = reads.problem(world.farm, TODAY)
    assert engine.check(asked, asked.previous) == ()
    assert engine.score(asked, asked.previous).cost <= cost + 12 * 7  # at most a week of changed cells dearer


def test_a_farm_that_is_gone_is_not_found_and_one_without_a_rota_is_left_alone(world, who):
    with pytest.raises(NotFound):
        rota.refresh(farm_id=world.farm.pk + 99, now=NOON)
    before = everything()
    assert refresh(world) == 0
    assert everything() == before


def test_another_farms_rota_is_not_touched(world, elsewhere, who):
    elsewhere.add_housing("Theirs")
    elsewhere.add_batch("Strange", housing="Theirs")
    people(elsewhere)
    begin(elsewhere)
    theirs = rows(elsewhere)
    begin(world)
    assert rows(elsewhere) == theirs


def test_every_write_but_ticks_asks_for_the_rota_once(world, who):
    def asks(act) -> int:
        return sent(act).count("refresh_rota")

    assert asks(lambda: world.add_housing("Shed")) == 0  # no rota yet
    assert asks(lambda: rota.start(world.by)) == 1
    assert asks(lambda: world.add_batch("Reds", housing="Brooder 2")) == 1
    source, due, round = key(world, "look")
    tick = {"source": source, "due": due, "round": round}
    assert asks(lambda: chores.mark(world.by, title="Look", **tick)) == 0
    assert asks(lambda: chores.unmark(world.by, **tick)) == 0
    assert asks(lambda: rota.stop(world.by)) == 0
    assert HistoryEntry.objects.filter(verb="stop rota").count() == 1
