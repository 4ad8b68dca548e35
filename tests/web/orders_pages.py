"""What the tests of the order pages share."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any

from django.test import Client

from farm.models import CountEntry, Filling, HistoryEntry, Hold, Order, OrderLine, OrderSeries
from farm.services.actor import Actor
from tests.conftest import TODAY
from tests.farm.orders_world import give, line, status, take
from tests.web.batches_world import errors
from tests.web.hatching_world import said as said_apart

__all__ = ["day", "errors", "give", "line", "order_form", "said", "sign_in", "status", "take", "written"]


def day(offset: int) -> date:
    return TODAY + timedelta(days=offset)


def sign_in(client: Client, by: Actor) -> Client:
    """Return the browser, signed in as a member."""
    client.force_login(by.login)
    return client


def said(answer: Any) -> str:
    """Return what the page says, without tags and without the blanks they leave before stops."""
    return re.sub(r" (?=[,.:;)])", "", said_apart(answer))


def written() -> tuple[int, ...]:
    """Return how many records of what these pages write there are."""
    kinds = (CountEntry, Filling, HistoryEntry, Hold, Order, OrderLine, OrderSeries)
    return tuple(kind.objects.count() for kind in kinds)


def order_form(*lines: dict[str, Any], **fields: Any) -> dict[str, Any]:
    """Return a new order as a browser sends it: 20 brown layers of any age, in three to six days, or as typed."""
    usual = {
        "programme": "chicken_layer_brown",
        "birds": "20",
        "age_from_days": "0",
        "age_to_days": "400",
        "from_on": day(3).isoformat(),
        "to_on": day(6).isoformat(),
        "sex": "any",
        "breed": "",
    }
    rows = [{**usual, **typed} for typed in lines or ({},)]
    found: dict[str, Any] = {"lines-TOTAL_FORMS": len(rows), "lines-INITIAL_FORMS": 0}
    for number, row in enumerate(rows):
        found |= {f"lines-{number}-{name}": value for name, value in row.items() if value is not None}
    return found | {"customer": "Meadow Farm", "status": "confirmed", "priority": "2"} | fields


def empty_line() -> dict[str, str]:
    """Return a line nobody typed into."""
    names = ("programme", "birds", "age_from_days", "age_to_days", "from_on", "to_on", "breed")
    return dict.fromkeys(names, "") | {"sex": "any"}
