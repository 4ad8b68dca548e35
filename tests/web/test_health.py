"""Two answers for whoever watches: is it alive, can it work."""

import shutil
from datetime import timedelta
from pathlib import Path

import pytest
from django.conf import settings
from django.db import connection

from farm.web import health, signs
from tests.conftest import NOON


@pytest.fixture(autouse=True)
def _no_sign_yet():
    """Each test begins as before any worker ran."""
    shutil.rmtree(Path(settings.DATA) / "signs", ignore_errors=True)


READY = {"database": "ok", "broker": "ok", "worker": "unknown"}


def test_the_process_answers_without_asking_the_database(client):
    # pytest-django refuses the database here, so a query would fail this test.
    reply = client.get("/healthz")
    assert (reply.status_code, reply.json()) == (200, {"process": "ok"})


@pytest.mark.django_db
def test_database_and_broker_at_hand_make_it_ready(client):
    reply = client.get("/readyz")
    assert (reply.status_code, reply.json()) == (200, READY)


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
    assert (reply.status_code, reply.json()) == (503, READY | {"broker": "away"})


@pytest.mark.django_db(transaction=True)
def test_a_database_that_is_away_is_named(client, monkeypatch):
    if connection.vendor != "sqlite":
        pytest.skip("takes the file away, which only SQLite has")
    connection.close()
    monkeypatch.setitem(connection.settings_dict, "NAME", "/nowhere/at/all.sqlite3")
    reply = client.get("/readyz")
    connection.close()
    assert (reply.status_code, reply.json()) == (503, READY | {"database": "away"})


@pytest.mark.parametrize("page", ["/healthz", "/readyz"])
def test_a_watcher_only_looks(client, page):
    assert client.post(page).status_code == 405


@pytest.mark.django_db
@pytest.mark.parametrize("seconds, worker", [(0, "ok"), (210, "ok"), (211, "late")])
def test_a_worker_that_has_not_been_heard_of_is_told_and_pages_go_on(client, time_machine, seconds, worker):
    time_machine.move_to(NOON, tick=False)
    signs.leave("worker", NOON - timedelta(seconds=seconds))
    reply = client.get("/readyz")
    assert (reply.status_code, reply.json()) == (200, READY | {"worker": worker})


def test_the_job_leaves_the_sign_that_is_looked_for(time_machine):
    from tasks import jobs

    time_machine.move_to(NOON, tick=False)
    assert health.worker_state(NOON) == "unknown"
    jobs.sign_of_life()
    assert (health.worker_state(NOON), signs.last("worker")) == ("ok", NOON)


def test_a_sign_has_a_plain_name():
    with pytest.raises(ValueError, match="no name of a sign"):
        signs.leave("../worker", NOON)
