"""A member signed in to the pages, talking to the API with the pages' own session; children have no tokens."""

from __future__ import annotations

import json
from typing import Any

from django.http import HttpResponse
from django.test import Client

from farm.services.actor import Actor
from tests.api.api_world import Program


class Session(Program):
    """Speaks JSON as a script of the pages does."""

    def __init__(self, by: Actor) -> None:
        assert by.login is not None
        self.client = Client(raise_request_exception=False)
        self.client.force_login(by.login)

    def _send(self, method: str, path: str, body: Any, headers: dict[str, str]) -> HttpResponse:
        return self.client.generic(
            method.upper(),
            f"/api/v1{path}",
            b"" if body is None else json.dumps(body).encode(),
            content_type="application/json",
            headers={name.replace("_", "-"): value for name, value in headers.items()},
        )
