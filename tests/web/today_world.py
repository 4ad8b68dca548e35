"""What the tests of the day's pages share: a signed-in browser on the world's own day, and short ways to ask."""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from typing import Any

import time_machine
from django.test import Client

from farm.services.actor import Actor
from farm.web.today.lines import Line
from tests.conftest import NOON, TODAY

HTMX = {"HTTP_HX_REQUEST": "true"}


def sign_in(client: Client, by: Actor) -> Client:
    client.force_login(by.login)
    return client


def look(client: Client, at: datetime = NOON, **asked: str) -> Any:
    with time_machine.travel(at, tick=False):
        return client.get("/", asked)


def send(client: Client, address: str, at: datetime = NOON, htmx: bool = False, **typed: Any) -> Any:
    with time_machine.travel(at, tick=False):
        return client.post(address, typed, **(HTMX if htmx else {}))


def all_lines(answer: Any) -> list[Line]:
    work = answer.context["work"]
    return [*work.before, *(line for one in work.rounds for line in one.lines)]


def line_of(answer: Any, title: str, round: str | None = None) -> Line:
    """Return the one line with this title, in this round if several have it."""
    (found,) = (line for line in all_lines(answer) if line.title == title and round in (None, line.round))
    return found


def tick(client: Client, line: Line, address: str = "/today/mark/", **typed: Any) -> Any:
    occurrence = {
        "source": line.source,
        "due": line.due.isoformat(),
        "round": line.round,
        "title": line.title,
    }
    return send(client, address, **({"day": TODAY.isoformat(), "state": "done"} | occurrence | typed))


def text_of(answer: Any) -> str:
    """Return what the page says, without tags, blanks as one."""
    body = re.sub(r"<(head|script)\b.*?</\1>", " ", answer.content.decode(), flags=re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


def day(offset: int) -> str:
    return (TODAY + timedelta(days=offset)).isoformat()
