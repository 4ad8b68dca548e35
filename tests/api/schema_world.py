"""Requests made of the schema, aimed at things of the small world so that they reach more than "not found"."""

from __future__ import annotations

import random
from datetime import timedelta
from typing import Any

import schemathesis
from django.core.wsgi import get_wsgi_application
from hypothesis import HealthCheck, Phase

from api.models import ApiToken
from api.services import tokens, webhooks
from farm.queries.tokens import token_hash
from tests.api.api_world import EVERYTHING
from tests.architecture.addresses import Things, things
from tests.conftest import NOON, World

SCHEMA = schemathesis.openapi.from_wsgi("/api/v1/schema/", app=get_wsgi_application())
OPERATIONS = {result.ok().label: result.ok() for result in SCHEMA.get_all_operations()}
#: Settings of every generated run: the same requests each time, and no shrinking, which would take minutes.
QUIETLY: dict[str, Any] = {
    "deadline": None,
    "phases": [Phase.generate],
    "database": None,
    "derandomize": True,
    "suppress_health_check": list(HealthCheck),
}

#: Parameter or field of the API -> the thing whose number it takes.
THING_OF = {
    "batch_id": "batch",
    "housing_id": "housing",
    "from_id": "housing",
    "to_id": "housing",
    "stay_id": "stay",
    "count_id": "count",
    "observation_id": "observation",
    "member_id": "member",
    "to_member_id": "member",
    "away_id": "away",
    "programme_id": "programme",
    "programme_version_id": "version",
    "version_id": "version",
    "machine_id": "machine",
    "setter_id": "machine",
    "hatcher_id": "machine",
    "history_id": "entry",
    "feed_id": "feed",
    "feed_entry_id": "bag",
    "egg_set_id": "eggs",
    "intake_id": "intake",
    "supplier_id": "supplier",
    "order_id": "order",
    "line_id": "line",
    "filling_id": "filling",
    "hold_id": "hold",
    "series_id": "series",
    "chore_id": "own_chore",
    "swap_id": "swap",
    "link_id": "link",
    "token_id": "token",
    "webhook_id": "webhook",
    "personal_link_id": "personal_link",
    "wait_id": "wait",
}
#: Those that are named otherwise than by number.
CODE_OF = {"code": "plan", "key": "programme"}


def all_things(world: World) -> dict[str, Any]:
    """Return one of each thing of the world's farm that the API names, and as "secret" a token that may all."""
    made = dict(things(world))
    ends = NOON + timedelta(days=1)
    made["line"] = made["order"].lines.get()
    made["observation"] = made["batch"].observations.get()
    made["webhook"] = webhooks.add(world.by, label="Birds", address="https://93.184.215.14/")[0]
    made["secret"] = tokens.make(world.by, label="schema", scopes=EVERYTHING, expires_at=ends)
    spare = tokens.make(world.by, label="spare", scopes=EVERYTHING, expires_at=ends)
    made["token"] = ApiToken.objects.get(token_sha256=token_hash(spare))
    return made


def numbers(found: Things) -> dict[str, Any]:
    """Return the things as kinds and numbers, by which they are found again; what is a text stays one."""
    return {
        name: thing if isinstance(thing, str) else (type(thing), thing.pk) for name, thing in found.items()
    }


def rows(kept: dict[str, Any]) -> dict[str, Any]:
    """Return the things that `numbers` stands for."""
    return {
        name: kind if isinstance(kind, str) else kind[0].objects.get(pk=kind[1])
        for name, kind in kept.items()
    }


def aim(case: schemathesis.Case, found: Things, dice: random.Random, *, always: bool = False) -> None:
    """Have a request name things of the world, mostly or always, and bring nobody's headers of its own."""
    sure = 1.0 if always else 0.8
    for name in case.path_parameters or {}:
        if dice.random() < sure:
            case.path_parameters[name] = known(found, name)
    case.body = aimed(case.body, found, dice, sure)
    if isinstance(case.query, dict):
        case.query = aimed(case.query, found, dice, sure)
    case.headers = {
        name: value for name, value in (case.headers or {}).items() if name.lower() != "authorization"
    }
    case.cookies = {}


def known(found: Things, name: str) -> Any:
    """Return what a parameter must be to name a thing of the world. Raises KeyError for one nobody has listed."""
    if name in CODE_OF:
        thing = found[CODE_OF[name]]
        return thing.code if name == "code" else str(thing.pk)
    return found[THING_OF[name]].pk


def aimed(value: Any, found: Things, dice: random.Random, sure: float) -> Any:
    """Return a body or query in which most numbers of things are those of the world."""
    if isinstance(value, list):
        return [aimed(one, found, dice, sure) for one in value]
    if isinstance(value, dict):
        return {name: _aimed_field(name, one, found, dice, sure) for name, one in value.items()}
    return value


def _aimed_field(name: str, value: Any, found: Things, dice: random.Random, sure: float) -> Any:
    if isinstance(value, int | str) and name in THING_OF and dice.random() < sure:
        return known(found, name)
    return aimed(value, found, dice, sure)
