"""What a program is told while the database is busy, and what stays a mishap."""

from __future__ import annotations

import sqlite3

import pytest
from django.db import OperationalError

from farm.services import batches
from tests.api.api_world import Program
from tests.api.test_api_batches import NEW


def failing(monkeypatch: pytest.MonkeyPatch, code: int) -> None:
    cause = sqlite3.OperationalError("database is locked in /srv/birds.sqlite3")
    cause.sqlite_errorcode = code

    def start(*args: object, **kwargs: object) -> None:
        raise OperationalError(*cause.args) from cause

    monkeypatch.setattr(batches, "start", start)


def test_a_busy_database_is_said_plainly_with_when_to_ask_again(
    program: Program, monkeypatch: pytest.MonkeyPatch
):
    failing(monkeypatch, sqlite3.SQLITE_BUSY)

    reply = program.post("/batches/", NEW)

    assert (reply.status_code, reply["Retry-After"]) == (503, "5")
    assert reply.json()["detail"].startswith("The farm's records are busy just now. Nothing was saved")
    assert b"srv" not in reply.content


def test_a_slip_of_ours_is_no_busy_database(program: Program, monkeypatch: pytest.MonkeyPatch):
    failing(monkeypatch, sqlite3.SQLITE_ERROR)

    reply = program.post("/batches/", NEW)

    assert (reply.status_code, reply.json()["title"]) == (500, "A mishap of ours")
    assert b"srv" not in reply.content
