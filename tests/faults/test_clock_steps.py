"""The server's clock set back and forward: nobody is told anything twice or never again, no tick is lost or doubled."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest

from farm.errors import NotFound
from farm.models import ChoreMark, HistoryEntry, Notice, PersonalLink, SentKey, Stay
from farm.planning.window import Window
from farm.queries import agenda
from farm.services import offline, personal_links, upkeep
from farm.services.actor import Actor
from farm.services.offline import Answer, Sent
from farm.services.reminders import clock
from tests.conftest import NOON, TODAY, World, actor
from tests.farm.reminders_world import DAY, HOUR, MINUTE, at, begin, chicks, letters, step, told

#: The night in which Berlin's clocks go back: 25 October 2026, 03:00 is 02:00 once more.
NIGHT = (TODAY.replace(month=10, day=25) - TODAY).days


@pytest.fixture
def farm(world: World) -> World:
    """Chicks in Brooder 1; Ada hears of morning and evening rounds, and what was missed."""
    chicks(world)
    told(world.by, morning_at="06:30", evening_at="18:00", missed=True)
    return world


def told_twice() -> list[tuple[str, str]]:
    """Return what was made more than once."""
    made = list(Notice.objects.values_list("kind", "key"))
    return sorted({each for each in made if made.count(each) > 1})


def looked_at(world: World, times: list[datetime]) -> list[tuple[str, str]]:
    """Look, as the sweep does, only when the farm is due at each of these instants; return the letters sent."""
    for now in times:
        if world.farm.pk in clock.to_look_at(now):
            step(world, now)
    return letters()


def test_set_back_over_midnight_each_reminder_comes_once(farm: World) -> None:
    begin(farm, at("05:00"))
    wanders = [at("06:31"), at("18:01"), at("23:58"), at("00:01", 1), at("23:57"), at("00:02", 1)]
    more = [at("06:31", 1), at("06:29", 1), at("06:32", 1), at("05:00", 1), at("06:33", 1)]
    sent = looked_at(farm, wanders + more)
    rounds = [subject for _who, subject in sent if "round, " in subject]
    assert len(rounds) == len(set(rounds)) == 3
    assert told_twice() == []


def test_set_back_and_forward_in_the_night_of_two_hours_two_each_reminder_comes_once(farm: World) -> None:
    evening = at("17:00", NIGHT - 1)
    begin(farm, evening)
    quarters = [evening + n * 15 * MINUTE for n in range(4 * 15)]
    # Every third look an hour back, as a clock that was told of the change twice.
    wanders = [now - HOUR if n % 3 == 2 else now for n, now in enumerate(quarters)]
    sent = looked_at(farm, wanders)
    rounds = [subject for _who, subject in sent if "round, " in subject]
    assert len(rounds) == len(set(rounds)) == 2
    assert told_twice() == []


def test_after_a_clock_that_was_years_ahead_was_set_right_the_next_round_is_told(farm: World) -> None:
    begin(farm, at("05:00"))
    step(farm, at("05:10") + 5 * 365 * DAY)
    letters()
    sent = looked_at(farm, [at("05:20"), at("06:31"), at("06:45")])
    assert [subject for _who, subject in sent if subject.startswith("Morning round, Fri 1 May")] != []
    assert told_twice() == []


def feeding(world: World, key: str, written: datetime) -> Sent:
    (item,) = (
        item
        for item in agenda.for_farm(world.farm, Window(TODAY, 1), TODAY)
        if (item.job, item.round) == ("feed_water", "morning")
    )
    return Sent(key=key, kind="tick", source=item.source, due=TODAY, round="morning", at=written)


def send(world: World, sent: Sent, now: datetime) -> Answer:
    by: Actor = actor(world.farm, world.keeper, now)
    (answer,) = offline.accept(by, member=world.keeper, sent=[sent])
    return answer


def test_a_tick_sent_again_after_the_clock_went_back_is_answered_as_before_and_done_once(farm: World) -> None:
    thing = feeding(farm, "a", NOON)
    assert send(farm, thing, NOON) == send(farm, thing, NOON - 3 * HOUR) == Answer("a", "done")
    assert (ChoreMark.objects.count(), HistoryEntry.objects.filter(verb="tick").count()) == (1, 1)


def test_a_tick_sent_again_after_a_clock_far_ahead_had_its_key_removed_is_done_once(farm: World) -> None:
    thing = feeding(farm, "a", NOON)
    send(farm, thing, NOON)
    assert offline.forget_old(now=NOON + 400 * DAY) == 1
    assert send(farm, thing, NOON + MINUTE).status in ("done", "already")
    assert (ChoreMark.objects.count(), HistoryEntry.objects.filter(verb="tick").count()) == (1, 1)


def test_a_tick_that_a_clock_set_back_takes_for_tomorrows_is_refused_in_words_and_can_be_sent_anew(
    farm: World,
) -> None:
    answer = send(farm, feeding(farm, "a", NOON), NOON - HOUR)
    assert (answer.status, ChoreMark.objects.count()) == ("refused", 0)
    assert answer.text == "The clock of your phone is ahead. Set it right and tick this again."
    assert send(farm, feeding(farm, "b", NOON), NOON + MINUTE) == Answer("b", "done")
    assert SentKey.objects.count() == 2


def test_a_link_switched_off_stays_off_when_the_clock_goes_back(farm: World) -> None:
    secret = personal_links.make(farm.by, member_id=farm.keeper.pk, label="phone")
    assert personal_links.opened(secret, now=NOON - HOUR).member == farm.keeper
    personal_links.revoke(farm.by, link_id=PersonalLink.objects.get().pk)
    for now in (NOON - 2 * HOUR, NOON + 2 * HOUR):
        with pytest.raises(NotFound):
            personal_links.opened(secret, now=now)


def test_a_day_that_had_begun_begins_once_and_a_clock_set_back_takes_nothing_back(farm: World) -> None:
    Stay.objects.update(actual=False)
    farm.farm.refresh_from_db()
    version = farm.farm.version
    begun = [
        upkeep.roll_over(farm_id=farm.farm.pk, now=NOON + n * timedelta(hours=13)) for n in (0, -1, 1, 0)
    ]
    assert begun == [1, 0, 0, 0]
    farm.farm.refresh_from_db()
    assert farm.farm.version == version + 1
    assert Stay.objects.get().actual
