"""A program with a token, talking to the API of the small named world."""

from __future__ import annotations

import json
from datetime import timedelta
from typing import Any

from django.http import HttpResponse
from django.test import Client

from api.models import Scope
from api.services import tokens
from farm.services import members
from farm.services.actor import Actor
from tests.conftest import NOON, World

EVERYTHING = tuple(Scope.values)


class Program:
    """Speaks JSON as a member's program does; `get`, `post`, `patch`, `put` and `delete` take a path below /api/v1."""

    def __init__(self, by: Actor, *scopes: str) -> None:
        self.token = tokens.make(
            by, label="Scales in the shed", scopes=scopes or EVERYTHING, expires_at=NOON + timedelta(days=90)
        )
        self.client = Client(raise_request_exception=False)

    def get(self, path: str, **headers: str) -> HttpResponse:
        return self._send("get", path, None, headers)

    def post(self, path: str, body: Any = None, **headers: str) -> HttpResponse:
        return self._send("post", path, body, headers)

    def patch(
        self, path: str, body: Any, *, seen: HttpResponse | None = None, **headers: str
    ) -> HttpResponse:
        """Change what `seen` showed."""
        return self._send("patch", path, body, headers | if_match(seen))

    def put(self, path: str, body: Any, *, seen: HttpResponse | None = None, **headers: str) -> HttpResponse:
        return self._send("put", path, body, headers | if_match(seen))

    def delete(self, path: str, *, seen: HttpResponse | None = None, **headers: str) -> HttpResponse:
        return self._send("delete", path, None, headers | if_match(seen))

    def _send(self, method: str, path: str, body: Any, headers: dict[str, str]) -> HttpResponse:
        named = {name.replace("_", "-"): value for name, value in headers.items()}
        return self.client.generic(
            method.upper(),
            f"/api/v1{path}",
            b"" if body is None else json.dumps(body).encode(),
            content_type="application/json",
            headers={"Authorization": f"Bearer {self.token}"} | named,
        )


def if_match(seen: HttpResponse | None) -> dict[str, str]:
    return {} if seen is None else {"If_Match": seen["ETag"]}


def wrong(reply: HttpResponse) -> dict[str, list[str]]:
    """Return what a problem says is wrong, by pointer or parameter."""
    found: dict[str, list[str]] = {}
    for error in reply.json()["errors"]:
        found.setdefault(error["pointer"] or error["parameter"], []).append(error["detail"])
    return found


def child_program(world: World, name: str = "Tim") -> Program:
    """Return the program of a child: a child makes no token, but keeps one from before it was called a child."""
    by = world.add_member(name, "helper")
    program = Program(by)
    members.change(world.by, member_id=by.member.pk, expected_version=None, name=name, role="child")
    return program
