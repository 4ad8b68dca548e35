"""No operation of the API shows or changes another farm's things, whoever asks: every one is tried, by its schema.

A new operation is swept without being listed here; a parameter that names a thing nobody has classified fails.
"""

from __future__ import annotations

import random
import re
from datetime import timedelta

import pytest
import schemathesis
from hypothesis import given, settings
from schemathesis.generation import GenerationMode

from api.core import throttle
from api.models import ApiToken, Webhook
from api.services import tokens
from calendars.models import CalendarLink
from farm.services.actor import Actor
from tests.api.api_world import EVERYTHING
from tests.api.schema_world import CODE_OF, OPERATIONS, QUIETLY, THING_OF, aim, all_things
from tests.architecture.addresses import Things, counted, every_address
from tests.conftest import MOST_EXAMPLES, NOON, World

pytestmark = pytest.mark.usefixtures("one_connection", "unplugged")
REFUSED = {401, 403, 404, 409, 412, 422, 428}


def asker(world: World, role: str) -> dict[str, str]:
    """Return the headers of a member of Hollow Farm in a role, or of nobody."""
    if role == "nobody":
        return {}
    by: Actor = world.by if role == "keeper" else world.add_member(role.title(), role)
    if role == "child":
        secret = _childs_token(by)
    else:
        ends = NOON + timedelta(days=1)
        secret = tokens.make(by, label="x", scopes=EVERYTHING, expires_at=ends)
    return {"Authorization": f"Bearer {secret}"}


def _childs_token(by: Actor) -> str:
    """Children can't make tokens; one they had from the time they were a helper still only may what a child may."""
    by.member.role = "helper"
    by.member.save()
    secret = tokens.make(by, label="x", scopes=EVERYTHING, expires_at=NOON + timedelta(days=1))
    by.member.role = "child"
    by.member.save()
    return secret


def everything(farm_id: int) -> dict[str, int]:
    more = {model.__name__: model.objects.filter(farm_id=farm_id).count() for model in (ApiToken, Webhook)}
    links = CalendarLink.objects.filter(farm_id=farm_id, revoked_at__isnull=True).count()
    return counted(farm_id) | more | {"links": links}


@pytest.mark.parametrize("label", sorted(OPERATIONS))
def test_every_parameter_that_names_a_thing_is_classified(label: str):
    for parameter in OPERATIONS[label].path_parameters:
        assert (parameter.name in THING_OF) + (parameter.name in CODE_OF) == 1


def test_every_address_of_the_api_is_an_operation_or_says_nothing_of_a_farm():
    described = {operation.path for operation in OPERATIONS.values()}
    others = {
        "/" + _plain(one.route)
        for one in every_address()
        if one.route.startswith("api/v1/") and "/" + _plain(one.route) not in described
    }
    assert others == {f"/api/v1/{name}" for name in ("", "docs/", "schema/", "problems/", "^{rest}$")}


def _plain(route: str) -> str:
    """Return a route as the schema writes it."""
    return re.sub(r"\(\?P<(\w+)>\.\*\)|<(?:\w+:)?(\w+)>", lambda found: f"{{{found[1] or found[2]}}}", route)


@pytest.mark.parametrize("noun", sorted({label.split("/")[3] for label in OPERATIONS}))
def test_another_farms_things_are_neither_shown_nor_changed(
    noun: str, world: World, elsewhere: World, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(throttle, "A_MINUTE", 10**9)
    theirs = all_things(elsewhere)
    before = everything(elsewhere.farm.pk)
    for role in ("keeper", "helper", "child", "nobody"):
        headers = asker(world, role)
        for label in sorted(label for label in OPERATIONS if label.split("/")[3] == noun):
            _ask(label, theirs, headers)
            assert everything(elsewhere.farm.pk) == before, (label, role)


def _ask(label: str, theirs: Things, headers: dict[str, str]) -> None:
    dice = random.Random(label)

    @settings(max_examples=1 if MOST_EXAMPLES else 3, **QUIETLY)
    @given(case=OPERATIONS[label].as_strategy(generation_mode=GenerationMode.POSITIVE))
    def asked(case: schemathesis.Case) -> None:
        aim(case, theirs, dice, always=True)
        answer = case.call(headers={"If-Match": "*"} | headers)
        assert b"Birds" not in answer.content
        assert b"Far Farm" not in answer.content
        if not headers:
            assert answer.status_code == 401
        elif case.path_parameters:
            assert answer.status_code in REFUSED

    asked()
