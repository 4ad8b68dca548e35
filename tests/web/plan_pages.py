"""What tests of the plan's pages share: a trial tried and worked out, and a page's words."""

from __future__ import annotations

import html as entities
import re
from typing import Any

from django.test import Client

from farm.models import Batch, Plan
from farm.models.plan import PlanState
from tests.conftest import World


def words(answer: Any) -> str:
    text = re.sub(r"<[^>]+>", " ", answer.content.decode())
    return re.sub(r"\s+", " ", entities.unescape(text))


def tried(seen: Client, **fields: object) -> Plan:
    """Return the plan that a form's change was tried in."""
    answer = seen.post("/plan/try/", fields)
    assert answer.status_code == 302, answer.context["form"].errors
    return Plan.objects.get(code=answer["Location"].split("/")[2])


def ready(seen: Client, plan: Plan) -> Plan:
    """Work a plan out as the button does."""
    assert seen.post(f"/plan/{plan.code}/now/").status_code == 302
    plan.refresh_from_db()
    assert plan.state == PlanState.READY
    return plan


def quail(**fields: str) -> dict[str, str]:
    """A form of 30 quail that would come in three weeks."""
    return {
        "kind": "add_batch",
        "type": "quail_layer",
        "birds": "30",
        "day": "2026-05-22",
        "age_days": "0",
        "leaves": "",
    } | fields


def crowd(world: World) -> Batch:
    """80 chicks that outgrow Brooder 1."""
    return world.add_batch("Crowd", birds=80, housing="Brooder 1")


def help_link(answer: Any) -> str:
    found = re.search(r'href="(/plan/help/[^"]+)"', answer.content.decode())
    assert found is not None
    return found[1].replace("&amp;", "&")
