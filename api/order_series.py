"""Orders that repeat: one order for each of their days, changed together."""

from __future__ import annotations

from typing import Any

from django.utils.translation import gettext as _
from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api import order_shapes as shapes
from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text, absent
from api.models import Scope
from api.order_shapes import Age, Birds, Programme, Rank
from farm.errors import NotFound
from farm.models.member import Role
from farm.models.order import OrderStatus, WantedSex
from farm.queries import orders as queries
from farm.queries.orders import SeriesRow
from farm.services import series as service

router = Router(tags=["Orders"])


class SeriesOrder(Schema):
    """One order of a series."""

    id: int
    series_on: Day | None
    status: OrderStatus
    alone: bool = Field(description="Changed by itself since.")


class SeriesOut(Schema):
    """An order that repeats."""

    id: int
    version: int
    customer: str
    programme: str
    type: str
    breed: str
    sex: WantedSex
    birds: int
    age_from_days: int
    age_to_days: int
    every_weeks: int
    first_on: Day
    last_on: Day
    window_days: int = Field(description="Days to hand each one over.")
    priority: int
    deposit: str
    notes: str
    coming: int = Field(description="Orders still open whose day has not passed.")
    orders: list[SeriesOrder]


class SeriesIn(In):
    """An order that repeats, to take."""

    customer: Text = Field(min_length=1, max_length=80)
    programme: Programme
    birds: Birds
    age_from_days: Age = 0
    age_to_days: Age
    every_weeks: int = Field(ge=1, le=52)
    first_on: Day
    last_on: Day
    window_days: int = Field(3, ge=1, le=60)
    sex: WantedSex = WantedSex.ANY
    breed: Text = Field("", max_length=60)
    priority: Rank = Rank.USUAL
    deposit: Text = Field("", max_length=200)
    notes: Text = Field("", max_length=2000)


class SeriesChange(In):
    """What is to be different of the series and its orders still to come. An earlier last_on ends it."""

    customer: Text = absent(min_length=1, max_length=80)
    programme: Programme = absent()
    birds: Birds = absent()
    age_from_days: Age = absent()
    age_to_days: Age = absent()
    every_weeks: int = absent(ge=1, le=52)
    first_on: Day = absent()
    last_on: Day = absent()
    window_days: int = absent(ge=1, le=60)
    sex: WantedSex = absent()
    breed: Text = absent(max_length=60)
    priority: Rank = absent()
    deposit: Text = absent(max_length=200)
    notes: Text = absent(max_length=2000)


@router.get("/", response=Page[SeriesOut])
@needs(Role.HELPER, Scope.READ)
def list_series(request: ApiRequest, query: Query[pages.Paging]) -> dict[str, Any]:
    """List the orders that repeat, by their first day."""
    rows = queries.series(request.caller.farm, request.caller.by.today)
    return pages.of_list([shape(row) for row in rows], query)


@router.post("/", response={201: SeriesOut})
@needs(Role.KEEPER, Scope.WRITE)
def place_series(request: ApiRequest, new: SeriesIn) -> Status:
    """Take an order that repeats, and with it an order for each of its days."""
    made = service.add(request.caller.by, new=service.NewSeries(**_plain(new.dict())))
    request.location = f"{request.path}{made.pk}/"
    return Status(201, _whole(request, made.pk))


@router.get("/{series_id}/", response=SeriesOut)
@needs(Role.HELPER, Scope.READ)
def get_series(request: ApiRequest, series_id: Id) -> dict[str, Any]:
    """Return one order that repeats."""
    return _whole(request, series_id)


@router.patch("/{series_id}/", response=SeriesOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_series(request: ApiRequest, series_id: Id, change: SeriesChange) -> dict[str, Any]:
    """Change a series and its orders still to come; those changed by themselves, filled or begun stay as they are."""
    version = versions.expected(request)
    service.change(request.caller.by, series_id=series_id, expected_version=version, **_plain(change.given()))
    return _whole(request, series_id)


@router.delete("/{series_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_series(request: ApiRequest, series_id: Id) -> Status:
    """Remove a series with its orders still to come; the others stay as orders by themselves."""
    service.remove(request.caller.by, series_id=series_id, expected_version=versions.expected(request))
    return Status(204, None)


def shape(row: SeriesRow) -> dict[str, Any]:
    """Return a series."""
    own = ("id", "version", "customer", "every_weeks", "first_on", "last_on", "window_days", "priority")
    return (
        {name: getattr(row.series, name) for name in (*own, "deposit", "notes")}
        | shapes.wants(row.series)
        | {
            "coming": row.coming,
            "orders": [
                {name: getattr(order, name) for name in ("id", "series_on", "status", "alone")}
                for order in row.orders
            ],
        }
    )


def _plain(given: dict[str, Any]) -> dict[str, Any]:
    return given | ({"priority": int(given["priority"])} if "priority" in given else {})


def _whole(request: ApiRequest, series_id: int) -> dict[str, Any]:
    rows = queries.series(request.caller.farm, request.caller.by.today)
    row = next((row for row in rows if row.series.pk == series_id), None)
    if row is None:
        raise NotFound(_("There is no such series of orders on this farm."))
    versions.show(request, row.series)
    return shape(row)
