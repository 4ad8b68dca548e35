"""Orders: birds promised to customers, with how sure each line is, and the names they are under."""

from __future__ import annotations

from typing import Any, Literal

from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api import order_shapes as shapes
from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Text, absent
from api.models import Scope
from api.order_shapes import Lines, OrderOut, Rank, at_lines
from farm.models.member import Role
from farm.models.order import OrderStatus
from farm.queries import orders as queries
from farm.queries.orders import OrderRow
from farm.services import customers, orders
from farm.services.order_fields import NewOrder

router = Router(tags=["Orders"])
customers_router = Router(tags=["Orders"])


class OrderIn(In):
    """An order to take: a quote, or confirmed."""

    customer: Text = Field(min_length=1, max_length=80, description="A name, or a code.")
    lines: Lines
    status: Literal["quote", "confirmed"] = "confirmed"
    priority: Rank = Rank.USUAL
    deposit: Text = Field("", max_length=200)
    notes: Text = Field("", max_length=2000)
    ordered_on: Day | None = Field(None, description="Today, when left out.")


class OrderChange(In):
    """What is to be different; what is left out stays. lines: all of them, those that stay with their id."""

    customer: Text = absent(min_length=1, max_length=80)
    lines: Lines = absent()
    priority: Rank = absent()
    deposit: Text = absent(max_length=200)
    notes: Text = absent(max_length=2000)
    ordered_on: Day = absent()


class NewStatus(In):
    """What becomes of an order. filled: enough, although birds lack."""

    status: OrderStatus


class Wanted(pages.Wide):
    """Which orders."""

    status: OrderStatus | None = Field(None, description="Quotes and confirmed ones, when left out.")
    customer: Text = Field("", max_length=80, description="Part of the name, whatever its case.")
    overdue: bool | None = Field(None, description="A last day has passed with birds still promised.")
    from_: Day | None = Field(
        None, alias="from", description="With a line to be handed over on this day or later …"
    )
    to: Day | None = Field(None, description="… and before this one.")


class CustomerOut(Schema):
    """A name that orders are under."""

    name: str
    orders: int


class Forget(In):
    """Whose name is to be forgotten."""

    customer: Text = Field(min_length=1, max_length=80)


class Forgotten(Schema):
    """What stands in place of the name now."""

    code: str


OrderFields = pages.fewer(OrderOut)


@router.get("/", response=Page[OrderFields], exclude_unset=True)  # type: ignore[valid-type]
@needs(Role.HELPER, Scope.READ)
def list_orders(request: ApiRequest, query: Query[Wanted]) -> dict[str, Any]:
    """List the farm's orders by the first day of what is still promised, open ones when no status is named."""
    farm, today = request.caller.farm, request.caller.by.today
    rows = queries.listing(farm, today, queries.OPEN if query.status is None else (query.status,))
    page = pages.of_list([row for row in rows if _wanted(row, query)], query)
    page["items"] = [shapes.order(row, farm.units) for row in page["items"]]
    return pages.only(page, OrderOut, query.fields)


@router.post("/", response={201: OrderOut})
@needs(Role.KEEPER, Scope.WRITE)
def place_order(request: ApiRequest, new: OrderIn) -> Status:
    """Take an order."""
    given = new.dict(exclude={"lines", "priority"})
    with at_lines():
        order = orders.add(
            request.caller.by,
            new=NewOrder(lines=shapes.typed(new.lines), priority=int(new.priority), **given),
        )
    request.location = f"{request.path}{order.pk}/"
    return Status(201, _whole(request, order.pk))


@router.get("/{order_id}/", response=OrderOut)
@needs(Role.HELPER, Scope.READ)
def get_order(request: ApiRequest, order_id: Id) -> dict[str, Any]:
    """Return one order; a quote with the odds its lines would have if it were confirmed."""
    return _whole(request, order_id)


@router.patch("/{order_id}/", response=OrderOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_order(request: ApiRequest, order_id: Id, change: OrderChange) -> dict[str, Any]:
    """Change an order. One of a series stands by itself from then on."""
    version, given = versions.expected(request), change.given()
    if "lines" in given:
        given["lines"] = shapes.typed(change.lines)
    if "priority" in given:
        given["priority"] = int(change.priority)
    with at_lines():
        orders.change(request.caller.by, order_id=order_id, expected_version=version, **given)
    return _whole(request, order_id)


@router.put("/{order_id}/status/", response=OrderOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def set_order_status(request: ApiRequest, order_id: Id, new: NewStatus) -> dict[str, Any]:
    """Confirm an order, make it a quote, call it filled, cancel it or open it again."""
    version = versions.expected(request)
    orders.set_status(request.caller.by, order_id=order_id, status=new.status.value, expected_version=version)
    return _whole(request, order_id)


@router.delete("/{order_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_order(request: ApiRequest, order_id: Id) -> Status:
    """Remove a quote. Any other order is cancelled instead, so that what was promised stays known."""
    orders.remove(request.caller.by, order_id=order_id, expected_version=versions.expected(request))
    return Status(204, None)


@customers_router.get("/", response=Page[CustomerOut])
@needs(Role.HELPER, Scope.READ)
def list_customers(request: ApiRequest, query: Query[pages.Paging]) -> dict[str, Any]:
    """List the names that orders are under, by alphabet."""
    return pages.of_list(queries.customers(request.caller.farm), query)


@customers_router.post("/forget/", response=Forgotten)
@needs(Role.KEEPER, Scope.WRITE)
def forget_customer(request: ApiRequest, whom: Forget) -> dict[str, str]:
    """Put a code in place of a customer's name, wherever it was ever written. This can't be undone."""
    return {"code": customers.forget(request.caller.by, customer=whom.customer)}


def _whole(request: ApiRequest, order_id: int) -> dict[str, Any]:
    farm = request.caller.farm
    row = queries.one(farm, order_id, request.caller.by.today)
    versions.show(request, row.order)
    return shapes.order(row, farm.units)


def _wanted(row: OrderRow, query: Wanted) -> bool:
    lines = [one.line for one in row.lines]
    return (
        query.customer.strip().casefold() in row.order.customer.casefold()
        and query.overdue in (None, any(line.overdue for line in row.lines))
        and (query.from_ is None or any(line.to_on >= query.from_ for line in lines))
        and (query.to is None or any(line.from_on < query.to for line in lines))
    )
