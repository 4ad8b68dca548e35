"""The ledger of a feed: bought, a bag opened, spoiled, counted anew. Lines are added, never edited."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Feed, FeedEntry
from farm.models.feed import FeedKind
from farm.models.member import Role
from farm.phrase import Quantity
from farm.queries import feed_store, lookup
from farm.services import feed_rules
from farm.services.actor import Actor
from farm.services.writing import Log, write
from farm.wording import quantity


def buy(
    by: Actor,
    *,
    feed_id: int,
    day: date,
    bags: int | None = None,
    kg: float | None = None,
    milled_on: date | None = None,
    price_cents: int | None = None,
    note: str = "",
    client_key: str = "",
) -> FeedEntry:
    """Record feed bought: so many bags, or so many kg of loose feed. price_cents: of all of it.

    client_key: a device's own key; the same key again returns the first line and writes nothing. Raises BadInput at
    bags, kg, day, milled_on or price_cents.
    """
    with write(by, "buy feed", role=Role.HELPER) as log:
        if known := _known(log, client_key):
            return known
        feed = lookup.get(Feed, farm_id=by.farm_id, pk=feed_id)
        feed_rules.check_bought(by, bags=bags, kg=kg, day=day, milled_on=milled_on, price_cents=price_cents)
        amount = round((feed.bag_kg * bags if bags else kg or 0) * feed_store.GRAMS)
        entry = FeedEntry(kind=FeedKind.BOUGHT, milled_on=milled_on, price_cents=price_cents)
        return _add(log, feed, entry, amount, day, note, client_key)


def open_bag(
    by: Actor, *, feed_id: int, day: date, bags: int = 1, note: str = "", client_key: str = ""
) -> FeedEntry:
    """Record bags opened to be fed; the last of a store may be less than a bag. Raises BadInput at bags or day."""
    with write(by, "open feed", role=Role.HELPER) as log:
        if known := _known(log, client_key):
            return known
        feed = lookup.get(Feed, farm_id=by.farm_id, pk=feed_id)
        feed_rules.check_day(by, day)
        if not 1 <= bags <= feed_rules.MOST_BAGS:
            raise BadInput.at(
                "bags", _("Enter a number from 1 to %(most)d.") % {"most": feed_rules.MOST_BAGS}
            )
        a_bag, there = round(feed.bag_kg * feed_store.GRAMS), feed_rules.there(feed, day)
        if there <= (bags - 1) * a_bag:
            raise BadInput.at("bags", feed_rules.only(feed, there))
        amount = -min(bags * a_bag, there)
        return _add(log, feed, FeedEntry(kind=FeedKind.OPENED), amount, day, note, client_key, "bags")


def spoil(
    by: Actor, *, feed_id: int, day: date, kg: float, note: str = "", client_key: str = ""
) -> FeedEntry:
    """Record unopened feed thrown away: damp, mouldy, eaten by mice. Raises BadInput at kg or day."""
    with write(by, "spoil feed", role=Role.HELPER) as log:
        if known := _known(log, client_key):
            return known
        feed = lookup.get(Feed, farm_id=by.farm_id, pk=feed_id)
        feed_rules.check_day(by, day)
        feed_rules.check_kg(kg, least=feed_rules.LEAST_KG)
        amount = -round(kg * feed_store.GRAMS)
        return _add(log, feed, FeedEntry(kind=FeedKind.SPOILED), amount, day, note, client_key, "kg")


def correct(
    by: Actor, *, feed_id: int, day: date, kg: float, note: str = "", client_key: str = ""
) -> FeedEntry | None:
    """Record that so many kg stood unopened in the store at the end of a day; None when the ledger said so already.

    Raises BadInput at kg or day.
    """
    with write(by, "count feed", role=Role.HELPER) as log:
        if known := _known(log, client_key):
            return known
        feed = lookup.get(Feed, farm_id=by.farm_id, pk=feed_id)
        feed_rules.check_day(by, day)
        feed_rules.check_kg(kg, least=0)
        amount = round(kg * feed_store.GRAMS) - feed_store.grams(list(feed.entries.all()), day)
        if not amount:
            return None
        return _add(log, feed, FeedEntry(kind=FeedKind.CORRECTION), amount, day, note, client_key, "kg")


def reverse(by: Actor, *, entry_id: int) -> FeedEntry:
    """Take a line back by its opposite on the same day. Raises BadInput when it was taken back already, or when there
    would be less than none without it."""
    with write(by, "reverse feed", role=Role.HELPER) as log:
        entry = lookup.get(FeedEntry, farm_id=by.farm_id, pk=entry_id)
        opposite = reverse_in(log, entry)
        log.says(entry.feed, _("%(feed)s: taken back: %(line)s") % {"feed": entry.feed, "line": line(entry)})
    return opposite


def reverse_in(log: Log, entry: FeedEntry) -> FeedEntry:
    """Add the opposite of a line inside an open write. Raises BadInput as `reverse` does."""
    if hasattr(entry, "reversed_by"):
        raise BadInput.at("", _("This line was already taken back."))
    feed_rules.check_store(entry.feed, entry.day, -entry.grams, field="")
    opposite = FeedEntry(
        farm=log.farm,
        feed=entry.feed,
        kind=FeedKind.REVERSED,
        grams=-entry.grams,
        day=entry.day,
        reverses=entry,
        member=log.by.member,
        created_at=log.by.now,
    )
    log.add(opposite)
    return opposite


def line(entry: FeedEntry) -> str:
    """Return the line in words, in SI: "25 kg bought"."""
    amount = quantity(Quantity(abs(entry.grams) / feed_store.GRAMS, "kg"))
    return f"{amount} {FeedKind(entry.kind).label}"


def _known(log: Log, client_key: str) -> FeedEntry | None:
    return FeedEntry.objects.filter(farm=log.farm, client_key=client_key).first() if client_key else None


def _add(
    log: Log,
    feed: Feed,
    entry: FeedEntry,
    grams: int,
    day: date,
    note: str,
    client_key: str,
    field: str = "",
) -> FeedEntry:
    """Judge and save a line. field: where it is said that there is not so much."""
    feed_rules.check_store(feed, day, grams, field=field)
    entry.farm, entry.feed, entry.member = log.farm, feed, log.by.member
    entry.grams, entry.day, entry.note = grams, day, note.strip()
    entry.client_key, entry.created_at = client_key, log.by.now
    log.add(entry)
    log.says(feed, f"{feed}: {line(entry)}")
    return entry
