"""While the records can't be reached a page says so in one plain sentence; a slip of our own is not taken for that."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Iterator
from typing import Any

import pytest
from django.db import OperationalError, connection
from django.test import Client, RequestFactory

from farm.web import away
from tests.conftest import World


def trouble(cause: Exception) -> OperationalError:
    error = OperationalError(str(cause))
    error.__cause__ = cause
    return error


def of_sqlite(code: int, text: str = "no luck") -> OperationalError:
    cause = sqlite3.OperationalError(text)
    cause.sqlite_errorcode = code
    return trouble(cause)


class Refused(Exception):
    """As psycopg's errors are."""

    def __init__(self, sqlstate: str | None) -> None:
        super().__init__("no luck")
        self.sqlstate = sqlstate


def said(error: Exception) -> str:
    response = away.page(RequestFactory().get("/batches/"), error)
    assert response is not None
    assert (response.status_code, response.headers["Retry-After"]) == (503, "5")
    return response.content.decode()


BUSY, FULL, AWAY = "are busy just now. Nothing was saved", "disk this runs on is full", "be reached just now"


@pytest.mark.parametrize(
    "error, text",
    [
        (of_sqlite(sqlite3.SQLITE_BUSY), BUSY),
        (of_sqlite(sqlite3.SQLITE_BUSY | 2 << 8), BUSY),  # SQLITE_BUSY_SNAPSHOT
        (of_sqlite(sqlite3.SQLITE_LOCKED), BUSY),
        (of_sqlite(sqlite3.SQLITE_FULL), FULL),
        (of_sqlite(sqlite3.SQLITE_IOERR | 3 << 8), AWAY),
        (of_sqlite(sqlite3.SQLITE_CANTOPEN), AWAY),
        (trouble(Refused("40P01")), BUSY),  # deadlock_detected
        (trouble(Refused("55P03")), BUSY),  # lock_not_available
        (trouble(Refused("53100")), FULL),  # disk_full
        (trouble(Refused("57P01")), AWAY),  # admin_shutdown
        (trouble(Refused(None)), AWAY),  # no connection
    ],
)
def test_each_trouble_has_its_sentence(error: Exception, text: str) -> None:
    assert text in said(error)


@pytest.mark.parametrize(
    "error", [of_sqlite(sqlite3.SQLITE_ERROR, "no such table: farm_batch"), ValueError("a slip"), KeyError()]
)
def test_a_slip_of_our_own_is_no_trouble_of_the_databases(error: Exception) -> None:
    assert away.page(RequestFactory().get("/batches/"), error) is None


def test_a_phone_is_answered_in_json() -> None:
    request = RequestFactory().post("/my/sync/", "{}", content_type="application/json")
    response = away.page(request, of_sqlite(sqlite3.SQLITE_BUSY))
    assert response is not None
    assert response.headers["Content-Type"] == "application/json"
    assert BUSY in response.content.decode()


def test_only_what_was_read_offers_to_be_asked_for_again() -> None:
    page = said(of_sqlite(sqlite3.SQLITE_BUSY))
    assert '<a class="button" href="/batches/">' in page
    posted = away.page(RequestFactory().post("/batches/new/"), of_sqlite(sqlite3.SQLITE_BUSY))
    assert posted is not None
    assert b"/batches/new/" not in posted.content
    assert b"what you typed is still in the form" in posted.content


@pytest.fixture
def signed_in(world: World) -> Client:
    client = Client(raise_request_exception=False)
    client.force_login(world.keeper.login)
    return client


@pytest.fixture
def gone(signed_in: Client) -> Iterator[None]:
    """No statement is answered."""

    def refuse(*_: Any) -> None:
        raise trouble(Refused("57P01"))

    with connection.execute_wrapper(refuse):
        yield


def test_who_is_signed_in_cannot_be_looked_up_and_still_the_page_is_plain(
    signed_in: Client, gone: None, caplog: pytest.LogCaptureFixture
) -> None:
    with caplog.at_level(logging.WARNING):
        response = signed_in.get("/batches/")
    assert response.status_code == 503
    assert AWAY in response.content.decode()
    assert response.headers["Cache-Control"] == "private, no-store"
    assert [(record.name, record.exc_info) for record in caplog.records] == [("farm.web.away", None)]


def test_an_error_that_is_no_databases_stays_a_500(
    signed_in: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    def slip(*_: Any, **__: Any) -> None:
        raise ValueError("a slip")

    monkeypatch.setattr("farm.web.access.visit_of", slip)
    assert signed_in.get("/batches/").status_code == 500
