"""Idempotency-Key: a write sent twice is done once; what was refused may be sent again, mended."""

from __future__ import annotations

from datetime import timedelta

import pytest

from api.core import keys
from api.models import SentRequest
from farm.models import Batch, HistoryEntry
from tests.api.api_world import Program
from tests.api.test_api_batches import NEW
from tests.conftest import NOON, World

KEY = {"Idempotency_Key": "7f1c"}


def test_the_same_key_again_gets_the_first_answer_and_writes_nothing(program: Program):
    first = program.post("/batches/", NEW, **KEY)
    before = HistoryEntry.objects.count()

    again = program.post("/batches/", NEW, **KEY)

    assert (again.status_code, again.content) == (201, first.content)
    assert (again["Location"], again["ETag"]) == (first["Location"], first["ETag"])
    assert again["Idempotency-Replayed"] == "true"
    assert (Batch.objects.count(), HistoryEntry.objects.count()) == (1, before)


def test_a_key_used_for_something_else_is_refused(program: Program):
    program.post("/batches/", NEW, **KEY)

    reply = program.post("/batches/", NEW | {"name": "Finches"}, **KEY)

    assert (reply.status_code, reply.json()["type"].partition("#")[2]) == (422, "key-used")
    assert Batch.objects.count() == 1


def test_what_was_refused_is_not_remembered(world: World, program: Program):
    assert program.post("/batches/", NEW | {"birds": 0}, **KEY).status_code == 422
    assert program.post("/batches/", NEW | {"programme": "no such"}, **KEY).status_code == 422
    assert not SentRequest.objects.exists()

    assert program.post("/batches/", NEW, **KEY).status_code == 201


def test_without_a_key_twice_is_twice(program: Program):
    program.post("/batches/", NEW)

    assert program.post("/batches/", NEW).status_code == 422  # the name is taken


def test_a_key_is_its_members_own(world: World, program: Program):
    program.post("/batches/", NEW, **KEY)
    other = Program(world.add_member("Cara", "keeper"))

    reply = other.post("/batches/", NEW | {"name": "Finches"}, **KEY)

    assert reply.status_code == 201
    assert Batch.objects.count() == 2


@pytest.mark.parametrize("key", ["x" * 201, "ü"])
def test_a_key_that_is_none_is_refused(program: Program, key: str):
    assert program.post("/batches/", NEW, Idempotency_Key=key).status_code == 422
    assert not Batch.objects.exists()


def test_a_write_that_breaks_down_leaves_neither_write_nor_key(program: Program, monkeypatch):
    real = SentRequest.save

    def breaks(self, *args, **kwargs):
        if self.status:
            raise RuntimeError("the disk is gone")
        real(self, *args, **kwargs)

    monkeypatch.setattr(SentRequest, "save", breaks)
    reply = program.post("/batches/", NEW, **KEY)

    assert (reply.status_code, reply["Content-Type"]) == (500, "application/problem+json")
    assert b"disk" not in reply.content
    assert (Batch.objects.count(), SentRequest.objects.count()) == (0, 0)


def test_answers_are_forgotten_after_two_days(program: Program):
    program.post("/batches/", NEW, **KEY)

    assert keys.forget(now=NOON + timedelta(hours=48)) == 0
    assert keys.forget(now=NOON + timedelta(hours=48, seconds=1)) == 1


@pytest.mark.parametrize("body", [b"{", b"\xff", b"[" * 100_000, b'{"birds": NaN}', b""])
def test_a_body_that_is_no_json_is_a_problem(program: Program, body: bytes):
    reply = program.client.generic(
        "POST",
        "/api/v1/batches/",
        body,
        content_type="application/json",
        headers={"Authorization": f"Bearer {program.token}"},
    )
    assert reply.status_code in (400, 422)
    assert reply["Content-Type"] == "application/problem+json"
