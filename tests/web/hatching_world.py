"""What the tests of the hatching pages share."""

from __future__ import annotations

import html
import re
from typing import Any

from django.test import Client

from farm.models import Batch, EggEntry, EggSet, HistoryEntry, Intake, Machine, Supplier
from farm.services.actor import Actor
from tests.farm.egg_world import at, cabinet, chicks_from, day, on, put_in
from tests.web.batches_world import errors

__all__ = ["at", "cabinet", "chicks_from", "day", "errors", "on", "put_in", "said", "sign_in", "written"]


def written() -> tuple[int, ...]:
    """Return how many records of what these pages write there are."""
    kinds = (Batch, EggEntry, EggSet, HistoryEntry, Intake, Machine, Supplier)
    return tuple(kind.objects.count() for kind in kinds)


def said(answer: Any) -> str:
    """Return what the page says, without tags, blanks as one."""
    page = re.sub(r"<(head|script)\b.*?</\1>", " ", answer.content.decode(), flags=re.S)
    return " ".join(html.unescape(re.sub(r"<[^>]+>", " ", page)).split())


def sign_in(client: Client, by: Actor) -> Client:
    """Return the browser, signed in as a member."""
    client.force_login(by.login)
    return client
