"""A calendar's secret is in its address and in the one page that shows it: in no log, no record, no referrer."""

from __future__ import annotations

import io
import logging
import re
from datetime import timedelta

import pytest
import time_machine
from django.apps import apps
from django.test import Client
from django.urls import reverse

from calendars import building, queries, services
from calendars import views as calendar_views
from farm.settings.redact import RedactingFormatter
from tests.conftest import NOON

#: Addresses that people and programs make of one, by mistake or on purpose.
WAYS = [
    "/c/{}.ics",
    "/c/{}.ics?utm=1",
    "/c/{}.ICS",
    "/c/{}",
    "/c/{}/",
    "/c/{}.ics/",
    "/c/{}.ics.ics",
    "/c/{}%0A.ics",
    "/c/{}x.ics",
    "/c//{}.ics",
]


@pytest.fixture
def log():
    """What a server would have written: every logger, at its most talkative, through the project's own formatter."""
    written, root = io.StringIO(), logging.getLogger()
    handler = logging.StreamHandler(written)
    handler.setFormatter(RedactingFormatter("%(name)s %(levelname)s %(message)s"))
    level = root.level
    root.addHandler(handler)
    root.setLevel(logging.DEBUG)
    yield written
    root.removeHandler(handler)
    root.setLevel(level)


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("method", ["get", "head", "post"])
def test_no_log_line_holds_the_secret_however_it_is_asked_for(app, log, way, method):
    with time_machine.travel(NOON, tick=False):
        client = Client(raise_request_exception=False)
        response = getattr(client, method)(way.format(app.secret))
    assert app.secret not in log.getvalue()
    assert app.secret not in str(response.headers)
    assert not response.cookies


def test_the_calendars_own_lines_need_no_formatter(app, caplog, monkeypatch):
    """Django's report of a mistake, of a refused method or of a gone address would carry the path."""
    caplog.set_level(logging.DEBUG)
    app.get()
    app.get(method="post")
    services.revoke_link(_keeper(app), link_id=app.link.pk)
    assert app.get().status_code == 200
    assert app.get(NOON + timedelta(days=40)).status_code == 410
    with time_machine.travel(NOON, tick=False):
        assert Client().get("/c/" + "y" * 32 + ".ics").status_code == 404
    lines = [record.getMessage() for record in caplog.records if record.name != "django.db.backends"]
    assert not [line for line in lines if app.secret in line or "y" * 32 in line]


def test_a_mistake_in_the_view_is_told_without_the_secret(app, log, monkeypatch):
    def broken(*_args):
        raise RuntimeError("out of order")

    monkeypatch.setattr(calendar_views.queries, "find", broken)
    response = app.get()
    assert (response.status_code, response["Retry-After"]) == (503, "300")
    assert "out of order" in log.getvalue()
    assert app.secret not in log.getvalue()


def _keeper(app):
    from tests.conftest import actor

    return actor(app.link.farm, app.link.member)


def test_no_record_holds_the_secret_not_history_nor_session(world, client):
    client.force_login(world.keeper.login)
    fields = {"label": "my phone", "scope": "mine", "member_id": world.keeper.pk}
    page = client.post(reverse("calendar-links"), fields)
    secret = re.search(r"/c/([\w-]{32})\.ics", page.content.decode())[1]
    link = queries.find(secret)
    assert link is not None
    building.build(calendar_views.editions.of(link), NOON)
    Client().get(f"/c/{secret}.ics")
    client.get(reverse("calendar-links"))
    rows = 0
    for model in apps.get_models():
        for values in model._base_manager.values():
            rows += 1
            assert secret not in str(values), model
            assert not any(
                secret.encode() in bytes(v) for v in values.values() if isinstance(v, memoryview | bytes)
            )
    assert rows > 5
    # Sessions are encoded: read what they say, too.
    assert secret not in str(dict(client.session))


def test_the_page_that_shows_it_has_no_secret_in_its_address_and_tells_nobody_where_a_reader_came_from(
    world, client
):
    client.force_login(world.keeper.login)
    fields = {"label": "my phone", "scope": "mine", "member_id": world.keeper.pk}
    page = client.post(reverse("calendar-links"), fields)
    secret = re.search(r"/c/([\w-]{32})\.ics", page.content.decode())[1]
    assert page.status_code == 200  # not a redirect to an address that says it
    assert secret not in page.request["PATH_INFO"] + page.request["QUERY_STRING"] + str(page.headers)
    assert page["Referrer-Policy"] in ("no-referrer", "same-origin")
    assert "no-store" in page["Cache-Control"]
