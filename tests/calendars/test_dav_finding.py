"""How a task app finds its list, and what each place tells of itself."""

from __future__ import annotations

import pytest
from django.test import Client

from calendars.dav import door
from tests.calendars.dav_world import CS, C, D, an_app, condition, planted, told
from tests.conftest import World
from tests.farm.rota_world import key, people


@pytest.fixture
def who(world):
    planted(world)
    return people(world)


@pytest.fixture
def app(who):
    return an_app(who["Ada"])


@pytest.mark.parametrize("method", ["GET", "PROPFIND", "OPTIONS", "REPORT"])
@pytest.mark.parametrize("path", ["/.well-known/caldav", "/.well-known/caldav/"])
def test_the_well_known_address_leads_to_the_root_whatever_the_method(db, method, path):
    response = Client().generic(method, path)
    assert (response.status_code, response["Location"]) == (301, "/dav/")


def test_options_says_what_is_spoken_without_a_password(db):
    response = Client().options("/dav/")
    assert response.status_code == 200
    assert [word.strip() for word in response["DAV"].split(",")] == ["1", "3", "calendar-access"]
    assert set(response["Allow"].split(", ")) == {"OPTIONS", "GET", "HEAD", "PROPFIND", "REPORT", "PUT"}


def test_from_the_root_an_app_comes_to_its_list_step_by_step(app, world):
    root = app.propfind("/dav/", "d:current-user-principal")["/dav/"]
    principal = root[f"{D}current-user-principal"].findtext(f"{D}href")
    found = app.propfind(principal, "c:calendar-home-set", "d:displayname")[principal]
    home = found[f"{C}calendar-home-set"].findtext(f"{D}href")
    assert found[f"{D}displayname"].text == "Ada"
    inside = app.propfind(home, "d:resourcetype", "c:supported-calendar-component-set", depth="1")
    calendars = {
        path: props
        for path, props in inside.items()
        if props[f"{D}resourcetype"].find(f"{C}calendar") is not None
    }
    assert list(calendars) == [app.list]
    (kind,) = calendars[app.list][f"{C}supported-calendar-component-set"]
    assert (kind.tag, kind.attrib) == (f"{C}comp", {"name": "VTODO"})


def test_the_list_tells_all_that_apps_ask_for(app, world):
    props = app.propfind(
        app.list,
        *("d:displayname", "d:sync-token", "cs:getctag", "d:supported-report-set", "d:owner"),
        *("d:current-user-privilege-set", "c:max-resource-size", "c:supported-calendar-data"),
    )[app.list]
    assert props[f"{D}displayname"].text == f"{world.farm.name}: Ada"
    assert props[f"{D}sync-token"].text == props[f"{CS}getctag"].text
    assert props[f"{D}sync-token"].text.startswith("data:,")
    reports = {report[0].tag for report in props[f"{D}supported-report-set"].iter(f"{D}report")}
    assert reports == {f"{C}calendar-query", f"{C}calendar-multiget", f"{D}sync-collection"}
    privileges = {each[0].tag for each in props[f"{D}current-user-privilege-set"]}
    assert f"{D}write-content" in privileges
    assert not privileges & {f"{D}write", f"{D}bind", f"{D}unbind", f"{D}all", f"{D}write-properties"}


def test_below_the_list_are_its_to_dos_with_their_tags(app, world):
    found = app.propfind(app.list, "d:getetag", "d:getcontenttype", depth="1")
    path = app.path(key(world, "look"))
    assert path in found
    assert found[path][f"{D}getetag"].text == app.get(key(world, "look"))["ETag"]
    assert found[path][f"{D}getcontenttype"].text == "text/calendar; charset=utf-8; component=VTODO"


def test_what_a_place_does_not_know_is_said_to_be_missing(app):
    response = app.ask(
        "PROPFIND", app.list, "<propfind xmlns='DAV:'><prop><quota-used-bytes/></prop></propfind>", depth="0"
    )
    assert response.content.count(b"404 Not Found") == 1
    assert told(response) == {app.list: {}}


def test_an_empty_request_gets_what_is_told_unasked_and_propname_the_names(app):
    props = app.propfind(app.list)[app.list]
    assert f"{D}displayname" in props
    assert f"{D}sync-token" not in props
    names = told(app.ask("PROPFIND", app.list, "<propfind xmlns='DAV:'><propname/></propfind>", depth="0"))
    assert {f"{D}sync-token", f"{CS}getctag"} <= set(names[app.list])
    assert all(prop.text is None for prop in names[app.list].values())


@pytest.mark.parametrize("headers", [{}, {"depth": "infinity"}, {"depth": "2"}])
def test_everything_at_once_is_not_told(app, headers):
    response = app.ask("PROPFIND", "/dav/", **headers)
    assert (response.status_code, condition(response)) == (403, f"{D}propfind-finite-depth")


def test_calendar_data_is_no_property(app, world):
    path = app.path(key(world, "look"))
    assert f"{C}calendar-data" not in app.propfind(path, "c:calendar-data")[path]


@pytest.mark.parametrize(
    "path",
    ["/dav/member-0/", "/dav/x/", "/dav/member-1/other/", "{list}nothing.ics", "{list}%00.ics", "{list}a/b"],
)
@pytest.mark.parametrize("method", ["GET", "PROPFIND", "REPORT"])
def test_what_is_not_there_is_not_found(app, path, method):
    assert app.ask(method, path.format(list=app.list), "<x/>", depth="0").status_code == 404


def test_another_members_list_is_not_found(app, who, world, elsewhere: World):
    ben, theirs = an_app(who["Ben"]), an_app(elsewhere.by)
    for other in (ben, theirs):
        for path in (other.home, other.list, other.path(key(world, "look"))):
            assert app.ask("GET", path).status_code == 404
            assert app.ask("PROPFIND", path, depth="0").status_code == 404


def test_a_person_who_opens_the_address_is_told_what_it_is(app):
    response = app.ask("GET", "/dav/")
    assert (response.status_code, response.content) == (200, b"This address is for task apps (CalDAV).\n")


def test_answers_carry_no_cookie_no_language_and_are_nobody_elses(app):
    response = app.ask("GET", app.list, accept_language="de")
    assert response.cookies == {}
    assert "Content-Language" not in response
    assert response["Cache-Control"] == "private, no-cache"
    assert response["X-Robots-Tag"] == "noindex"


def test_plain_http_is_not_redirected_and_no_token_against_forged_forms_is_asked(app, settings, world):
    settings.SECURE_SSL_REDIRECT = True
    assert app.tick(key(world, "look")).status_code == 204


def test_only_what_is_below_dav_is_answered_here():
    assert [door.is_ours(path) for path in ("/dav", "/dav/", "/dav/x", "/.well-known/caldav")] == [True] * 4
    assert [door.is_ours(path) for path in ("/", "/david/", "/calendars/", "/.well-known/carddav")] == [
        False
    ] * 4


@pytest.mark.parametrize("tail", ["", "/"])
def test_a_missing_or_additional_slash_is_the_same_place(app, tail):
    for path in (app.home, app.list):
        assert app.ask("PROPFIND", path.rstrip("/") + tail, depth="0").status_code == 207
