"""Feed: what is bought, what is in the store, how long it lasts and what to order by when."""

from __future__ import annotations

from typing import Annotated, Any

from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Id, In, Number, Text, Whole, absent
from api.feed_shapes import FeedForecastOut, FeedStoreOut, forecast, store
from api.models import Scope
from farm.models import Feed
from farm.models.member import Role
from farm.queries import feed as read
from farm.queries import lookup
from farm.services import feeds
from farm.web.feed import stock

router = Router(tags=["Feed"])
#: What is eaten and bought in the weeks ahead.
ahead = Router(tags=["Feed"])

DayOfWeek = Annotated[int, Field(ge=0, le=6)]
_KIND = "Phase of a programme's feeding that it serves, for example `starter`."
_KEEPS = "Days it may be fed after milling; null: as usual."
_WAIT = "Days to wait before meat or eggs, from the label; of a medicated feed alone."


class FeedOut(Schema):
    """A feed as it is bought, and what is in the store as of the farm's today."""

    id: int
    version: int
    name: str
    kind: str = Field(description=_KIND)
    species: list[str] = Field(description="Keys of those it may be fed to.")
    bag_kg: float
    lead_days: int = Field(description="From ordering to delivery.")
    delivery_weekdays: list[DayOfWeek] = Field(description="Monday is 0; [] for any day.")
    keeps_days: int | None = Field(description=_KEEPS)
    medicated: bool
    wait_days: int | None = Field(description=_WAIT)
    notes: str
    store: FeedStoreOut


class FeedChange(In):
    """What is to be different; what is left out stays."""

    name: Text = absent(max_length=60)
    kind: Text = absent(max_length=24, description=_KIND)
    species: list[Text] = absent(max_length=20)
    bag_kg: Number = absent()
    lead_days: Whole = absent()
    delivery_weekdays: list[DayOfWeek] = absent(max_length=7)
    keeps_days: Whole | None = Field(None, description=_KEEPS)
    medicated: bool = absent()
    wait_days: Whole | None = Field(None, description=_WAIT)
    notes: Text = absent(max_length=2000)


class NewFeed(FeedChange):
    """A feed to add; record what is in the store afterwards."""

    name: Text = Field(max_length=60)
    kind: Text = Field(max_length=24, description=_KIND)
    species: list[Text] = Field(max_length=20)
    bag_kg: Number
    lead_days: Whole


class Ahead(In):
    """How far ahead."""

    days: int = Field(28, ge=7, le=92)


@router.get("/", response=Page[FeedOut])
@needs(Role.CHILD, Scope.READ)
def list_feeds(request: ApiRequest, query: Query[pages.Paging]) -> dict[str, Any]:
    """List the feeds with what is in the store; what runs out first comes first."""
    page = pages.of_list(_stocks(request), query)
    return page | {"items": [_shape(one) for one in page["items"]]}


@router.post("/", response={201: FeedOut})
@needs(Role.KEEPER, Scope.WRITE)
def add_feed(request: ApiRequest, new: NewFeed) -> Status:
    """Add a feed."""
    feed = feeds.add(request.caller.by, **new.given())
    request.location = f"{request.path}{feed.pk}/"
    return Status(201, _whole(request, feed.pk))


@router.get("/{feed_id}/", response=FeedOut)
@needs(Role.CHILD, Scope.READ)
def get_feed(request: ApiRequest, feed_id: Id) -> dict[str, Any]:
    """Return one feed."""
    return _whole(request, feed_id)


@router.patch("/{feed_id}/", response=FeedOut)
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def change_feed(request: ApiRequest, feed_id: Id, change: FeedChange) -> dict[str, Any]:
    """Change a feed; what is in the store stays as it is."""
    version = versions.expected(request)
    feeds.change(request.caller.by, feed_id=feed_id, expected_version=version, **change.given())
    return _whole(request, feed_id)


@router.delete("/{feed_id}/", response={204: None})
@needs(Role.KEEPER, Scope.WRITE, versioned=True)
def remove_feed(request: ApiRequest, feed_id: Id) -> Status:
    """Remove a feed whose ledger has no lines."""
    version = versions.expected(request)
    feeds.remove(request.caller.by, feed_id=feed_id, expected_version=version)
    return Status(204, None)


@ahead.get("/forecast/", response=FeedForecastOut)
@needs(Role.CHILD, Scope.READ)
def forecast_feed(request: ApiRequest, query: Query[Ahead]) -> dict[str, Any]:
    """Return what will likely be eaten, when each feed runs out, what to buy by when, and what nobody thought of."""
    sheet = read.for_farm(request.caller.farm, request.caller.by.today, query.days)
    return forecast(sheet, query.days, request.caller.farm.units)


def _stocks(request: ApiRequest) -> list[stock.Stock]:
    return stock.stocks(read.for_farm(request.caller.farm, request.caller.by.today))


def _whole(request: ApiRequest, feed_id: int) -> dict[str, Any]:
    lookup.get(Feed, farm_id=request.caller.farm.pk, pk=feed_id)
    found = next(one for one in _stocks(request) if one.row.feed.pk == feed_id)
    versions.show(request, found.row.feed)
    return _shape(found)


def _shape(found: stock.Stock) -> dict[str, Any]:
    feed = found.row.feed
    own = {name: getattr(feed, name) for name in FeedOut.model_fields if hasattr(feed, name)}
    return own | {"store": store(found)}
