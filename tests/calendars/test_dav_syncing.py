"""What changed since a token, what went, and what a list says of its content and when it changed."""

from __future__ import annotations

from datetime import timedelta

import pytest

from calendars.dav import lists
from calendars.dav.items import AHEAD_DAYS, PAST_DAYS, name_of
from calendars.dav.models import TodoList, TodoVersion
from farm.models import Housing, Member
from farm.services import chores, customers, housings, members, own_chores
from tests.calendars.dav_world import C, D, an_app, condition, planted, sync, told
from tests.conftest import NOON, TODAY
from tests.farm.judging import day
from tests.farm.rota_world import begin, key, people


@pytest.fixture
def who(world):
    planted(world)
    return people(world)


@pytest.fixture
def app(who):
    return an_app(who["Ada"])


@pytest.fixture
def look(world):
    return key(world, "look")


def mark(by, of):
    source, due, round = of
    chores.mark(by, source=source, due=due, round=round, title="Done")


def test_a_first_sync_tells_the_whole_list_and_a_second_nothing(app):
    changed, _gone, token = app.sync()
    assert changed == app.query()
    assert len(changed) > 50
    assert app.sync(token) == (set(), set(), token)


def test_a_tick_is_one_change_for_each_who_sees_it(app, look, who, world):
    ben = an_app(who["Ben"])
    tokens = [each.sync()[2] for each in (app, ben)]
    app.tick(look)
    for each, token in zip((app, ben), tokens, strict=True):
        changed, gone, new = each.sync(token)
        assert (changed, gone, new != token) == ({each.path(look)}, set(), True)
        assert each.sync(new)[0] == set()


def test_a_write_that_changes_nothing_here_moves_no_token_and_no_tag(app, world, look):
    tag, token = app.get(look)["ETag"], app.sync()[2]
    members.add(world.by, name="Dora", role="helper")
    assert TodoList.objects.get().key != ""
    assert (app.get(look)["ETag"], app.sync(token)) == (tag, (set(), set(), token))


def test_asking_again_writes_nothing(app, look, django_assert_max_num_queries):
    app.get(look)
    with django_assert_max_num_queries(5) as asked:
        app.get(look)
    assert not [
        one for one in asked.captured_queries if one["sql"].startswith(("INSERT", "UPDATE", "DELETE"))
    ]


def test_what_goes_is_told_as_gone_and_only_to_those_who_had_it(app, world):
    chore = own_chores.add(world.by, title="Sweep", start=day(3), minutes=5)
    _changed, _gone, token = app.sync()
    before = app.query()
    own_chores.remove(world.by, chore_id=chore.pk)
    changed, gone, new = app.sync(token)
    assert (changed, len(gone)) == (set(), 1)
    assert gone == before - app.query()
    assert app.sync(new)[:2] == (set(), set())
    assert app.sync()[1] == set()


def test_what_comes_back_is_told_again_with_another_tag(app, look, who, world):
    cara = an_app(who["Cara"])
    feed = key(world, "feed_water")
    first = cara.get(feed)["ETag"]
    token = cara.sync()[2]
    Member.objects.filter(pk=who["Cara"].member.pk).update(can_water=False)
    members.add(world.by, name="Dora", role="helper")
    _changed, gone, token = cara.sync(token)
    assert cara.path(feed) in gone
    assert cara.get(feed).status_code == 404
    Member.objects.filter(pk=who["Cara"].member.pk).update(can_water=True)
    members.add(world.by, name="Dodo", role="helper")
    changed, gone, _token = cara.sync(token)
    assert cara.path(feed) in changed
    assert cara.get(feed)["ETag"] != first


def test_each_day_one_day_goes_and_one_comes(app, world):
    _all, _gone, token = app.sync()
    app.at = NOON + timedelta(days=1)
    changed, gone, _token = app.sync(token)
    assert app.path(key(world, "look", -PAST_DAYS)) in gone
    assert app.path(key(world, "look", AHEAD_DAYS + 1)) in changed
    assert app.path(key(world, "look", 0)) not in changed | gone


@pytest.mark.parametrize(
    "token", ["x", "data:,", "data:,x-1", "data:,{made}-999", "data:,{made}--1", "data:,{made}-١"]
)
def test_a_token_that_was_never_given_is_refused(app, token):
    app.sync()
    made = TodoList.objects.get().made
    response = app.report(sync(token.format(made=made)), depth="0", status=403)
    assert condition(response) == f"{D}valid-sync-token"


def test_another_lists_token_is_refused(app, who):
    token = an_app(who["Ben"]).sync()[2]
    assert app.report(sync(token), depth="0", status=403)


def test_who_was_away_for_too_long_reads_the_list_again(app, world, look):
    _changed, _gone, token = app.sync()
    app.at = NOON + timedelta(days=2)
    later = app.sync(token)[2]
    app.at = NOON + timedelta(days=3 + lists.GONE_DAYS)
    response = app.report(sync(token), depth="0", status=403)
    assert condition(response) == f"{D}valid-sync-token"
    changed, _gone, _token = app.sync(later)
    assert changed == app.sync()[0] == app.query()
    assert not TodoVersion.objects.filter(gone_at__lt=app.at - timedelta(days=lists.GONE_DAYS)).exists()


def test_a_list_is_never_told_in_parts(app):
    limit = "<d:limit><d:nresults>3</d:nresults></d:limit>"
    response = app.report(sync("", limit), depth="0", status=507)
    assert condition(response) == f"{D}number-of-matches-within-limits"
    assert app.report(sync("", limit.replace("3", "9999")), depth="0")
    assert app.report(sync("", limit.replace("3", "x")), depth="0", status=400)


def test_deltas_applied_one_after_the_other_are_the_list(app, who, world):
    """Whatever happens, an app that applies what it is told has what a fresh app reads."""
    copy: dict[str, str] = {}
    token = ""

    def follow():
        nonlocal token
        response = app.report(sync(token), depth="0")
        tags = {path: props[f"{D}getetag"].text for path, props in told(response).items() if props}
        changed, gone, token = app.sync(token)
        for path in gone:
            copy.pop(path, None)
        copy.update({path: tags[path] for path in changed})
        fresh = app.propfind(app.list, "d:getetag", depth="1")
        fresh.pop(app.list)
        assert copy == {path: props[f"{D}getetag"].text for path, props in fresh.items()}

    follow()
    mark(who["Ben"], key(world, "look"))
    follow()
    begin(world)
    follow()
    place = world.housing["Brooder 1"]
    housings.change(
        world.by, housing_id=place.pk, expected_version=Housing.objects.get(pk=place.pk).version, name="Barn"
    )
    follow()
    app.at = NOON + timedelta(days=5)
    follow()
    chores.unmark(world.by, source=key(world, "look")[0], due=TODAY, round="morning")
    follow()


def test_stamps_rise_with_each_change_and_with_nothing_else(app, look, world):
    first = app.todo(look)
    app.at = NOON + timedelta(hours=3)
    assert app.todo(look) == first
    assert first["DTSTAMP"].dt == first["LAST-MODIFIED"].dt == NOON
    app.tick(look)
    second = app.todo(look)
    assert second["DTSTAMP"].dt == NOON + timedelta(hours=3)
    assert second["SEQUENCE"] == first["SEQUENCE"] + 1
    chores.unmark(world.by, source=look[0], due=look[1], round=look[2])
    third = app.todo(look)
    assert third["DTSTAMP"].dt == second["DTSTAMP"].dt + timedelta(seconds=1)


def test_a_clock_set_back_lowers_no_stamp(app, look):
    before = app.todo(look)["LAST-MODIFIED"].dt
    app.at = NOON - timedelta(hours=1)
    app.tick(look)
    assert app.todo(look)["LAST-MODIFIED"].dt > before


def test_a_joined_change_bumps_exactly_what_shows_it(app, world):
    world.add_housing("Brooder 9")
    world.add_batch("Other", housing="Brooder 9")
    token = app.sync()[2]
    place = world.housing["Brooder 9"]
    housings.change(world.by, housing_id=place.pk, expected_version=place.version, name="Barn")
    changed, gone, _token = app.sync(token)
    assert gone == set()
    assert changed
    for path in changed:
        assert b"Barn" in app.ask("GET", path).content
    assert not [path for path in app.query() - changed if b"Barn" in app.ask("GET", path).content]


def test_forgetting_a_customer_drops_what_was_kept(app, world):
    token = app.sync()[2]
    customers.forgotten.send(sender=None, farm=world.farm, swap=lambda value: value)
    assert not TodoVersion.objects.exists()
    assert app.report(sync(token), depth="0", status=403)
    assert app.sync()[0] == app.query()


def test_names_are_of_the_occurrence_alone(world, look):
    assert name_of(look) == name_of((look[0], look[1], look[2]))
    assert len({name_of((f"room:{n}/look", TODAY, "morning")) for n in range(99)}) == 99
    assert name_of(look).isalnum()


def test_many_are_read_at_once_by_address(app, look, world):
    other = app.path(key(world, "feed_water"))
    hrefs = [
        app.path(look),
        f"http://testserver{other}",
        app.list + "0.ics",
        "/dav/member-0/rounds/x.ics",
        "::",
        app.list,
    ]
    body = "".join(f"<d:href>{href}</d:href>" for href in hrefs)
    wanted = "<d:prop><d:getetag/><c:calendar-data/></d:prop>"
    response = app.report(f"<c:calendar-multiget>{wanted}{body}</c:calendar-multiget>")
    found = told(response)
    assert {path for path, props in found.items() if props} == {app.path(look), other}
    assert response.content.count(b"404 Not Found") == 4
    data = found[app.path(look)][f"{C}calendar-data"].text
    assert data.splitlines() == app.get(look).content.decode().splitlines()
