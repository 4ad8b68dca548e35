"""Who may ask the API: tokens that hold and may what they were made for; sessions with their CSRF token."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from django.test import Client

from api.core import throttle
from api.models import ApiToken, Scope
from api.services import tokens
from farm.errors import BadInput, NotAllowed, NotFound
from farm.models import Batch, Change
from farm.services.farewell import farms as farewell
from tests.api.api_world import Program
from tests.api.test_api_batches import NEW
from tests.conftest import NOON, World


def test_nobody_is_told_how_to_come_in():
    reply = Client().get("/api/v1/batches/")

    assert reply.status_code == 401
    assert reply["WWW-Authenticate"].startswith("Bearer")
    assert reply.json()["type"].endswith("/api/v1/problems/#nobody")


@pytest.mark.parametrize("header", ["Bearer fd_wrong", "Bearer ", "Basic YTpi", "fd_wrong", "Bearer fd_ü"])
def test_a_wrong_token_is_nobodys(world: World, header: str):
    assert Client().get("/api/v1/batches/", headers={"Authorization": header}).status_code == 401


def test_only_a_tokens_hash_is_kept_anywhere(world: World):
    secret = Program(world.by).token

    assert not ApiToken.objects.filter(token_sha256__contains=secret).exists()
    assert secret not in str(list(Change.objects.values_list("after", flat=True)))


def test_a_token_ends(program: Program):
    assert program.get("/batches/").status_code == 200
    with time_machine.travel(NOON + timedelta(days=90, seconds=1), tick=False):
        assert program.get("/batches/").status_code == 401


def test_a_token_that_is_switched_off_opens_nothing(world: World, program: Program):
    tokens.revoke(world.by, token_id=ApiToken.objects.get().pk)
    tokens.revoke(world.by, token_id=ApiToken.objects.get().pk)

    assert program.get("/batches/").status_code == 401


def test_a_token_goes_with_its_member(world: World):
    helper = world.add_member("Cara", "helper")
    theirs = Program(helper)
    assert theirs.get("/batches/").status_code == 200

    helper.member.left_on = world.by.today
    helper.member.save()

    assert theirs.get("/batches/").status_code == 401


def test_a_token_may_what_its_scopes_say_and_no_more(world: World):
    reader = Program(world.by, Scope.READ)

    reply = reader.post("/batches/", NEW)

    assert reader.get("/batches/").status_code == 200
    assert (reply.status_code, reply.json()["title"]) == (403, "Not allowed")
    assert not Batch.objects.exists()


def test_a_token_never_may_more_than_its_member(world: World):
    helpers = Program(world.add_member("Cara", "helper"))

    assert helpers.post("/batches/", NEW).status_code == 403
    assert not Batch.objects.exists()


def test_tokens_are_not_made_for_ever_nor_for_nothing(world: World):
    with pytest.raises(BadInput) as refused:
        tokens.make(world.by, label="x", scopes=["read"], expires_at=NOON + timedelta(days=401))
    assert list(refused.value.fields) == ["expires_at"]
    with pytest.raises(BadInput) as refused:
        tokens.make(world.by, label="x", scopes=[], expires_at=NOON + timedelta(days=1))
    assert list(refused.value.fields) == ["scopes"]
    with pytest.raises(BadInput):
        tokens.make(world.by, label="x", scopes=["everything"], expires_at=NOON + timedelta(days=1))
    assert not ApiToken.objects.exists()


def test_a_child_has_no_tokens(world: World):
    child = world.add_member("Dot", "child")
    with pytest.raises(NotAllowed):
        tokens.make(child, label="x", scopes=["read"], expires_at=NOON + timedelta(days=1))


def test_a_helper_sees_and_switches_off_their_own_alone(world: World):
    helper = world.add_member("Cara", "helper")
    Program(world.by)
    theirs = Program(helper)

    listed = theirs.get("/tokens/").json()["items"]

    assert [one["member_id"] for one in listed] == [helper.member.pk]
    keepers = ApiToken.objects.get(member=world.keeper)
    with pytest.raises(NotFound):
        tokens.revoke(helper, token_id=keepers.pk)
    assert theirs.delete(f"/tokens/{keepers.pk}/").status_code == 404
    assert Program(world.by).delete(f"/tokens/{listed[0]['id']}/").status_code == 204
    assert theirs.get("/tokens/").status_code == 401


def test_the_pages_session_reads_and_writes_with_its_csrf_token(world: World):
    client = Client(enforce_csrf_checks=True)
    client.force_login(world.by.login)
    assert client.get("/api/v1/batches/").status_code == 200

    assert client.post("/api/v1/batches/", NEW, content_type="application/json").status_code == 403
    assert not Batch.objects.exists()

    client.get("/settings/")
    sent = {"X-CSRFToken": client.cookies["csrftoken"].value}
    assert (
        client.post("/api/v1/batches/", NEW, content_type="application/json", headers=sent).status_code == 201
    )


def test_a_login_without_a_farm_is_told_so(world: World, django_user_model):
    client = Client()
    client.force_login(django_user_model.objects.create_user("eve@example.org", "pw"))

    assert client.get("/api/v1/batches/").status_code == 403


def test_too_many_requests_of_one_program_hold_up_no_other(world: World, program: Program, monkeypatch):
    monkeypatch.setattr(throttle, "A_MINUTE", 3)
    other = Program(world.by)

    status = [program.get("/batches/").status_code for _ in range(4)]

    assert status == [200, 200, 200, 429]
    assert int(program.get("/batches/")["Retry-After"]) > 0
    assert other.get("/batches/").status_code == 200


def test_the_day_a_token_was_used_is_noted(world: World, program: Program):
    program.get("/batches/")
    assert ApiToken.objects.get().last_used_on == world.by.today


def test_a_closed_farm_answers_no_program_until_it_is_opened_again(world: World, program: Program):
    farewell.close(world.by, name="Hollow Farm")
    reply = program.get("/batches/")
    assert (reply.status_code, "closed" in reply.json()["detail"]) == (403, True)

    farewell.keep(world.by)
    assert program.get("/batches/").status_code == 200


def test_the_tokens_of_a_login_that_is_given_up_rest(world: World, program: Program):
    world.by.login.leaving_at = NOON + timedelta(days=14)
    world.by.login.save()
    assert program.get("/batches/").status_code == 401
