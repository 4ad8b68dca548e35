"""The ledger of a feed: bought, opened, spoiled, counted anew. Lines are added, taken back, never edited."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from ninja import Field, Path, Query, Router, Schema
from ninja.responses import Status

from api.core import pages
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page
from api.core.shapes import Day, Id, In, Number, Text, Whole
from api.models import Scope
from farm.models import Feed, FeedEntry
from farm.models.feed import FeedKind
from farm.models.member import Role
from farm.queries import feed_store, lookup
from farm.services import feed_entries

router = Router(tags=["Feed"])
#: At a feed's own address.
of_feed = Router(tags=["Feed"])


class FeedEntryOut(Schema):
    """One line of a feed's ledger: of what stands unopened in the store."""

    id: int
    feed_id: int
    kind: FeedKind
    kg: float = Field(description="Above 0 for feed that came, below 0 for what went.")
    day: Day
    after_kg: float = Field(description="Unopened in the store after this line.")
    struck: bool = Field(description="It was taken back, or takes another line back.")
    milled_on: Day | None
    price_cents: int | None = Field(description="Of all of it.")
    note: str
    reverses_id: int | None = Field(description="The line that this one takes back.")
    member: str | None
    created_at: datetime


class FeedLine(In):
    """What every line has."""

    day: Day
    note: Text = Field("", max_length=200)
    key: Text = Field("", max_length=64, description="A device's own key: sent twice, it is one line.")


class FeedBought(FeedLine):
    """Feed that came: bags, or the weight of loose feed."""

    bags: Whole | None = None
    kg: Number | None = None
    milled_on: Day | None = None
    price_cents: int | None = Field(None, ge=0, le=2**31 - 1, description="Of all of it.")


class FeedOpened(FeedLine):
    """Bags opened to be fed; the last of a store may be less than a bag."""

    bags: Whole = 1


class FeedWeighed(FeedLine):
    """An amount of unopened feed."""

    kg: Number


@of_feed.get("/", response=Page[FeedEntryOut])
@needs(Role.CHILD, Scope.READ)
def list_feed_entries(request: ApiRequest, feed_id: Path[Id], query: Query[pages.Paging]) -> dict[str, Any]:
    """List the ledger of a feed, newest first."""
    page = pages.of_list(_ledger(lookup.get(Feed, farm_id=request.caller.farm.pk, pk=feed_id)), query)
    return page | {"items": [_shape(line) for line in page["items"]]}


@of_feed.post("/bought/", response={201: FeedEntryOut})
@needs(Role.HELPER, Scope.RECORD)
def buy_feed(request: ApiRequest, feed_id: Path[Id], new: FeedBought) -> Status:
    """Record feed bought."""
    return _made(request, feed_entries.buy(request.caller.by, feed_id=feed_id, **_given(new)))


@of_feed.post("/opened/", response={201: FeedEntryOut})
@needs(Role.HELPER, Scope.RECORD)
def open_feed(request: ApiRequest, feed_id: Path[Id], new: FeedOpened) -> Status:
    """Record bags opened. Write down days to wait for those that eat a medicated feed."""
    return _made(request, feed_entries.open_bag(request.caller.by, feed_id=feed_id, **_given(new)))


@of_feed.post("/spoiled/", response={201: FeedEntryOut})
@needs(Role.HELPER, Scope.RECORD)
def spoil_feed(request: ApiRequest, feed_id: Path[Id], new: FeedWeighed) -> Status:
    """Record unopened feed thrown away: damp, mouldy, eaten by mice."""
    return _made(request, feed_entries.spoil(request.caller.by, feed_id=feed_id, **_given(new)))


@of_feed.post("/counted/", response={201: FeedEntryOut, 204: None})
@needs(Role.HELPER, Scope.RECORD)
def count_feed(request: ApiRequest, feed_id: Path[Id], new: FeedWeighed) -> Status:
    """Record what stood unopened at the end of a day; 204 when the ledger said so already."""
    entry = feed_entries.correct(request.caller.by, feed_id=feed_id, **_given(new))
    return Status(204, None) if entry is None else _made(request, entry)


@router.get("/{feed_entry_id}/", response=FeedEntryOut)
@needs(Role.CHILD, Scope.READ)
def get_feed_entry(request: ApiRequest, feed_entry_id: Id) -> dict[str, Any]:
    """Return one line of a ledger."""
    return _whole(request, feed_entry_id)


@router.post("/{feed_entry_id}/reverse/", response={201: FeedEntryOut})
@needs(Role.HELPER, Scope.RECORD)
def reverse_feed_entry(request: ApiRequest, feed_entry_id: Id) -> Status:
    """Take a line back by adding its opposite, which is returned."""
    return _made(request, feed_entries.reverse(request.caller.by, entry_id=feed_entry_id))


def _given(new: FeedLine) -> dict[str, Any]:
    fields = new.dict()
    return fields | {"client_key": fields.pop("key")}


def _made(request: ApiRequest, entry: FeedEntry) -> Status:
    request.location = f"/api/v1/feed-entries/{entry.pk}/"
    return Status(201, _whole(request, entry.pk))


def _whole(request: ApiRequest, entry_id: int) -> dict[str, Any]:
    entry = lookup.get(FeedEntry, farm_id=request.caller.farm.pk, pk=entry_id)
    return _shape(next(line for line in _ledger(entry.feed) if line.entry.pk == entry.pk))


def _ledger(feed: Feed) -> list[feed_store.Line]:
    return feed_store.ledger(list(feed.entries.select_related("member")))


def _shape(line: feed_store.Line) -> dict[str, Any]:
    entry = line.entry
    own = {name: getattr(entry, name) for name in FeedEntryOut.model_fields if hasattr(entry, name)}
    return own | {
        "kg": entry.grams / feed_store.GRAMS,
        "after_kg": line.after_kg,
        "struck": line.struck,
        "member": entry.member.name if entry.member else None,
    }
