"""Alerts: cold nights, hot days and losses that a keeper must hear about, while they hold."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from ninja import Field, Query, Router, Schema

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id
from api.models import Scope
from farm import wording
from farm.models.member import Role
from farm.models.weather import AlertKind
from farm.queries import alerts as read

router = Router(tags=["Weather"])


class AlertOut(Schema):
    """One alert that holds now. The later days of the same spell are told with its first."""

    id: int
    kind: AlertKind
    day: Day
    more_days: list[Day] = Field(description="Later days of the same spell.")
    batch_id: int | None
    housing_id: int | None
    words: str
    raised_at: datetime


class Wanted(pages.Paging):
    """Which alerts."""

    batch_id: Id | None = None


@router.get("/", response=Page[AlertOut])
@needs(Role.CHILD, Scope.READ)
def list_alerts(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the alerts that hold, by day."""
    farm = request.caller.farm
    page = pages.of_list(read.shown(farm, query.batch_id), query)
    return page | {"items": [_shape(one, farm.units) for one in page["items"]]}


def _shape(one: read.Shown, units: str) -> dict[str, Any]:
    own = ("id", "kind", "day", "batch_id", "housing_id", "raised_at")
    return {name: getattr(one.alert, name) for name in own} | {
        "more_days": one.more,
        "words": wording.say(one.says, units),
    }
