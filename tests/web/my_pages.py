"""What the tests of the personal page share: a farm with chicks, a helper, a child, and short ways to ask."""

from __future__ import annotations

import json
import re
from datetime import datetime
from typing import Any
from uuid import uuid4

import time_machine
from django.test import Client

from farm.models import Member
from farm.services import personal_links
from farm.web.my.records import MyLine
from tests.conftest import NOON, TODAY, World

FEED, HEAT = "Brooder 1: Feed and water", "Brooder 1: Check the heat"


def link_of(world: World, member: Member, label: str = "phone") -> str:
    """Return the address of a new personal link."""
    return f"/my/{personal_links.make(world.by, member_id=member.pk, label=label)}/"


def get(client: Client, address: str = "/my/", at: datetime = NOON, **more: Any) -> Any:
    with time_machine.travel(at, tick=False):
        return client.get(address, **more)


def lines(answer: Any) -> list[MyLine]:
    work = answer.context["work"]
    return [*work.before, *work.today.lines]


def line_of(answer: Any, title: str = FEED, round: str = "morning") -> MyLine:
    (found,) = (one for one in lines(answer) if one.line.title == title and one.key[2] == round)
    return found


def item(line: MyLine | None = None, **more: Any) -> dict[str, Any]:
    """Return one thing as a phone's queue holds it."""
    known: dict[str, Any] = {}
    if line is not None:
        source, due, round = line.key
        known = {"source": source, "due": due.isoformat(), "round": round, "proof": line.proof}
        known |= {"title": line.line.title, "minutes": line.line.minutes}
    return {"key": str(uuid4()), "kind": "tick", "at": NOON.isoformat()} | known | more


def sync(
    client: Client,
    *items: dict[str, Any],
    who: str,
    base: str = "/my/",
    at: datetime = NOON,
    raw: bytes | None = None,
    **more: Any,
) -> Any:
    """Send a queue."""
    body = json.dumps({"who": who, "items": items}).encode() if raw is None else raw
    with time_machine.travel(at, tick=False):
        return client.post(f"{base}sync/", body, content_type="application/json", **more)


def answers(reply: Any) -> list[tuple[str, str]]:
    assert reply.status_code == 200, reply.content
    return [(one["status"], one["text"]) for one in reply.json()["answers"]]


def text_of(answer: Any) -> str:
    body = re.sub(r"<(head|script)\b.*?</\1>", " ", answer.content.decode(), flags=re.S)
    return " ".join(re.sub(r"<[^>]+>", " ", body).split())


def press(
    client: Client, line: MyLine, kind: str = "tick", base: str = "/my/", jump: str = "", **typed: Any
) -> Any:
    """Send a line's plain form."""
    source, due, round = line.key
    known = {"key": line.form_key, "source": source, "due": due.isoformat(), "round": round}
    known |= {"title": line.line.title, "minutes": line.line.minutes, "proof": line.proof, "kind": kind}
    with time_machine.travel(NOON, tick=False):
        return client.post(base, known | {"line": jump or f"my-{line.name}"} | typed)


__all__ = [
    "FEED",
    "HEAT",
    "TODAY",
    "answers",
    "get",
    "item",
    "line_of",
    "lines",
    "link_of",
    "press",
    "sync",
    "text_of",
]
