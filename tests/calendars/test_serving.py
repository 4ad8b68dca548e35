"""GET /c/<secret>.ics as calendar apps ask it: headers, conditions, encodings, and who is told nothing."""

import gzip
import re
from datetime import timedelta

import pytest
import time_machine
from django.conf import settings as project
from django.test import Client
from django.urls import reverse

from calendars import queries, services
from calendars.models import CalendarLink
from calendars.views import MISSES
from farm.models import Farm, ProgrammeVersion
from farm.services import chores
from tests.calendars.linter import problems
from tests.conftest import NOON, TODAY

CARRIED = {
    "Cache-Control": "private, no-cache",
    "Vary": "Accept-Encoding",
    "X-Robots-Tag": "noindex",
    "Referrer-Policy": "no-referrer",
    "X-Content-Type-Options": "nosniff",
}


def miss(client=None, address="192.0.2.7"):
    with time_machine.travel(NOON, tick=False):
        return (client or Client()).get(f"/c/{'x' * 32}.ics", REMOTE_ADDR=address)


def test_calendars_are_answered_before_anything_that_knows_people():
    # What stands before only counts, and adds nothing to a calendar: the next test but one says so.
    assert project.MIDDLEWARE[:2] == ["farm.web.watching.watched", "calendars.middleware.calendars_first"]


def test_the_address_has_a_name():
    assert reverse("calendar", args=["abc"]) == "/c/abc.ics"


def test_a_calendar_is_answered_with_these_headers_and_no_others(app):
    response = app.get()
    assert response.status_code == 200
    assert dict(response.headers) == CARRIED | {
        "Content-Type": "text/calendar; charset=utf-8",
        "Content-Length": str(len(response.content)),
        "ETag": response["ETag"],
    }
    assert re.fullmatch(r'"[0-9a-f]{32}"', response["ETag"])
    assert problems(response.content) == []


def test_no_cookie_and_no_session_come_with_a_calendar(app, django_assert_max_num_queries):
    app.get()
    client = Client()
    client.cookies["sessionid"] = "somebody"
    with time_machine.travel(NOON, tick=False), django_assert_max_num_queries(3) as asked:
        response = client.get(app.path)
    assert response.cookies == {}
    assert not [query for query in asked.captured_queries if "session" in query["sql"]]


def test_the_readers_language_changes_nothing(app):
    assert app.get(accept_language="de").content == app.get().content


def test_a_calendar_asked_for_again_with_its_tag_is_not_sent_again(app):
    tag = app.get()["ETag"]
    response = app.get(if_none_match=tag)
    assert (response.status_code, response.content) == (304, b"")
    assert dict(response.headers) == CARRIED | {"ETag": tag}


def test_a_304_builds_nothing_and_reads_no_body(app, django_assert_num_queries):
    tag = app.get()["ETag"]
    with django_assert_num_queries(1) as asked:
        assert app.get(if_none_match=tag).status_code == 304
    assert not [
        query for query in asked.captured_queries if "octets" in query["sql"] or "zipped" in query["sql"]
    ]


@pytest.mark.parametrize("form", ["{}", "W/{}", '"other", {}', '"other",W/{}', "*"])
def test_every_form_of_a_matching_condition_is_understood(app, form):
    tag = app.get()["ETag"]
    assert app.get(if_none_match=form.format(tag)).status_code == 304


def test_another_tag_gets_the_calendar(app):
    app.get()
    assert app.get(if_none_match='"0123"').status_code == 200


def test_a_change_is_seen_at_once_though_no_worker_runs(app, farm):
    tag = app.get()["ETag"]
    chores.mark(
        farm.by, source=f"room:{farm.housing['Brooder 1'].pk}/look", due=TODAY, round="morning", title="Look"
    )
    response = app.get(if_none_match=tag)
    assert response.status_code == 200
    assert b"[x]" in response.content


def test_head_says_what_get_would_and_sends_nothing(app):
    get, head = app.get(), app.get(method="head")
    assert (head.status_code, head.content) == (200, b"")
    assert dict(head.headers) == dict(get.headers)


def test_head_with_the_tag_is_not_modified(app):
    assert app.get(method="head", if_none_match=app.get()["ETag"]).status_code == 304


@pytest.mark.parametrize("asked", ["gzip", "deflate, gzip;q=1.0, br", "gzip;q=0.1", "GZIP", "*"])
def test_gzip_is_sent_when_asked_for(app, asked):
    plain, zipped = app.get(), app.get(accept_encoding=asked)
    assert zipped["Content-Encoding"] == "gzip"
    assert zipped["Content-Length"] == str(len(zipped.content))
    assert gzip.decompress(zipped.content) == plain.content
    assert zipped["ETag"] != plain["ETag"]


@pytest.mark.parametrize("asked", ["", "identity", "br, deflate", "gzip;q=0", "gzip; q=0.000", "x-gzipper"])
def test_gzip_is_not_sent_unasked(app, asked):
    response = app.get(accept_encoding=asked)
    assert "Content-Encoding" not in response
    assert response.content.startswith(b"BEGIN:VCALENDAR")


def test_gzip_can_be_switched_off(app, settings):
    settings.CALENDAR_GZIP = False
    assert "Content-Encoding" not in app.get(accept_encoding="gzip")


def test_either_encodings_tag_means_the_same_calendar(app):
    plain, zipped = app.get()["ETag"], app.get(accept_encoding="gzip")["ETag"]
    assert app.get(if_none_match=zipped).status_code == 304
    response = app.get(accept_encoding="gzip", if_none_match=plain)
    assert (response.status_code, response["ETag"]) == (304, zipped)


@pytest.mark.parametrize("method", ["post", "put", "delete", "options", "patch"])
def test_other_methods_are_refused_and_told_which_are_not(app, method):
    response = app.get(method=method)
    assert (response.status_code, response["Allow"]) == (405, "GET, HEAD")


def test_an_unknown_secret_is_not_found_and_says_no_more(db):
    response = miss()
    assert (response.status_code, response.content) == (404, b"There is no such calendar.\n")
    assert CARRIED.items() <= dict(response.headers).items()


@pytest.mark.parametrize("secret", ["short", "x" * 33, "x" * 31 + "%", "%00", "x" * 5000])
def test_a_secret_of_another_shape_is_not_even_looked_up(db, secret, django_assert_num_queries):
    with django_assert_num_queries(0):
        assert Client().get(f"/c/{secret}.ics").status_code == 404


def test_plain_http_is_not_redirected_even_where_pages_are(app, settings):
    settings.SECURE_SSL_REDIRECT = True
    assert app.get().status_code == 200


def test_a_guesser_is_slowed_down(db):
    assert [miss().status_code for _ in range(MISSES + 1)] == [404] * MISSES + [429]
    assert miss()["Retry-After"] == "600"


def test_who_knows_a_secret_is_served_from_a_guessers_address_too(app):
    for _ in range(MISSES + 5):
        miss(address="127.0.0.1")
    assert app.get().status_code == 200


def test_one_callers_misses_are_not_anothers(db):
    for _ in range(MISSES + 1):
        miss()
    assert miss(address="192.0.2.8").status_code == 404


def test_the_day_of_the_last_use_is_noted_for_a_304_too(app):
    app.get()
    app.get(NOON + timedelta(days=2), if_none_match="*")
    assert CalendarLink.objects.get().last_used_on == TODAY + timedelta(days=2)


def break_the_agenda(farm):
    ProgrammeVersion.objects.update(content={}, digest="0" * 64)
    Farm.objects.filter(pk=farm.farm.pk).update(version=1000)


def test_when_building_fails_the_calendar_published_before_is_served(app, farm):
    before = app.get()
    break_the_agenda(farm)
    after = app.get()
    assert (after.status_code, after.content) == (200, before.content)


def test_when_building_fails_and_nothing_was_published_the_app_is_asked_to_come_again(app, farm, caplog):
    break_the_agenda(farm)
    response = app.get()
    assert (response.status_code, response["Retry-After"]) == (503, "300")
    assert app.secret not in caplog.text


def test_a_stored_body_is_served_as_stored(app):
    services.refresh(farm_id=app.link.farm_id, now=NOON)
    edition = queries.live_editions(app.link.farm_id, NOON)[0]
    assert app.get()["ETag"] == queries.stored(edition).etag
