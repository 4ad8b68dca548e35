"""What the tests of what phones send share: short ways to say it."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO
from typing import Any
from uuid import uuid4

from PIL import Image

from farm.planning.agenda import Item
from farm.planning.window import Window
from farm.queries import agenda
from farm.services import offline, shown
from farm.services.actor import Actor
from farm.services.offline import Sent
from tests.conftest import TODAY, World

FEED, HEAT, LOOK = "feed_water", "heat_check", "look"
NOT_YOURS = "This is not one of your chores."
UNKNOWN = "This chore is not known. Open the page again."
OK = ("done", "")


def due(world: World, job: str = FEED, round: str = "morning", day: int = 0) -> Item:
    """Return an item of the agenda, by day from today."""
    on = TODAY + timedelta(days=day)
    (found,) = (
        item
        for item in agenda.for_farm(world.farm, Window(on, 1), TODAY)
        if (item.job, item.round, item.due) == (job, round, on)
    )
    return found


def sent(item: Item | None = None, kind: str = "tick", **more: Any) -> Sent:
    """Return one thing as a phone sends it, without proof."""
    known = {}
    if item is not None:
        source, day, round = item.occurrence
        known = {"source": source, "due": day, "round": round, "title": "as the phone says"}
    return Sent(key=str(uuid4()), kind=kind, **known | more)


def accept(by: Actor, *things: Sent, over_link: bool = False) -> list[tuple[str, str]]:
    assert by.member is not None
    answers = offline.accept(by, member=by.member, sent=things, over_link=over_link)
    assert [answer.key for answer in answers] == [one.key for one in things]
    return [(answer.status, answer.text) for answer in answers]


def picture() -> bytes:
    out = BytesIO()
    Image.new("RGB", (30, 20)).save(out, "PNG")
    return out.getvalue()


def died(world: World, birds: int = 3, **more: Any) -> Sent:
    batch = world.housing["Brooder 1"].stays.get().batch
    return sent(kind="died", batch_id=batch.pk, housing_id=world.housing["Brooder 1"].pk, birds=birds, **more)


def proven(by: Actor, item: Item, **more: Any) -> Sent:
    """Return a tick of a line as it was shown to the member."""
    assert by.member is not None
    proof = shown.proof(by.member, item.occurrence, "Brooder 1: Feed, as it was called", 8)
    return sent(item, **{"title": "Brooder 1: Feed, as it was called", "minutes": 8, "proof": proof} | more)
