"""Two answers for whoever watches: is it alive, can it work."""

from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection


def test_the_process_answers_without_asking_the_database(client):
    # pytest-django refuses the database here, so a query would fail this test.
    reply = client.get("/healthz")
    assert (reply.status_code, reply.json()) == (200, {"process": "ok"})


@pytest.mark.django_db
def test_database_and_broker_at_hand_make_it_ready(client):
    reply = client.get("/readyz")
    assert (reply.status_code, reply.json()) == (200, {"database": "ok", "broker": "ok"})


@pytest.mark.django_db
def test_a_broker_that_is_away_is_named_and_no_path_is_told(client):
    messages = Path(settings.DATA) / "broker"
    if messages.exists():
        messages.rename(messages.with_name("broker-aside"))
    messages.write_text("a file where the folder was")
    try:
        reply = client.get("/readyz")
    finally:
        messages.unlink()
        if messages.with_name("broker-aside").exists():
            messages.with_name("broker-aside").rename(messages)
    assert (reply.status_code, reply.json()) == (503, {"database": "ok", "broker": "away"})


@pytest.mark.django_db(transaction=True)
def test_a_database_that_is_away_is_named(client, monkeypatch):
    if connection.vendor != "sqlite":
        pytest.skip("takes the file away, which only SQLite has")
    connection.close()
    monkeypatch.setitem(connection.settings_dict, "NAME", "/nowhere/at/all.sqlite3")
    reply = client.get("/readyz")
    connection.close()
    assert (reply.status_code, reply.json()) == (503, {"database": "away", "broker": "ok"})


@pytest.mark.parametrize("page", ["/healthz", "/readyz"])
def test_a_watcher_only_looks(client, page):
    assert client.post(page).status_code == 405
