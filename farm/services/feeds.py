"""Kinds of feed as they are bought: added, changed and removed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Feed
from farm.models.member import Role
from farm.queries import feed_kinds, lookup
from farm.services import stale
from farm.services.actor import Actor
from farm.services.writing import write

#: Accepted numbers, lowest and highest, as the database holds them: project default (judgement).
RANGES: Mapping[str, tuple[float, float]] = {
    "bag_kg": (0.5, 1500),
    "lead_days": (0, 60),
    "keeps_days": (7, 365),
    "wait_days": (0, 365),
}


def add(by: Actor, **fields: Any) -> Feed:
    """Add a feed. `fields` are the model's: name, kind, species, bag_kg, lead_days, … Raises BadInput by field."""
    with write(by, "add feed", role=Role.KEEPER) as log:
        feed = Feed(farm=log.farm, **_tidied(fields))
        _check(feed, _values(feed))
        log.add(feed)
        log.says(feed, _("Feed %(feed)s added") % {"feed": feed})
    return feed


def change(by: Actor, *, feed_id: int, expected_version: int | None, **fields: Any) -> Feed:
    """Change a feed; what is in the store stays as it is. Raises Stale, BadInput."""
    with write(by, "change feed", role=Role.KEEPER) as log:
        feed = lookup.get(Feed, farm_id=by.farm_id, pk=feed_id)
        stale.check(feed, expected_version)
        tidied = _tidied(fields)
        _check(feed, _values(feed) | tidied)
        log.change(feed, **tidied)
        log.says(feed, _("Feed %(feed)s changed") % {"feed": feed})
    return feed


def remove(by: Actor, *, feed_id: int, expected_version: int | None = None) -> None:
    """Remove a feed of which nothing was ever bought or counted. Raises Stale, BadInput otherwise."""
    with write(by, "remove feed", role=Role.KEEPER) as log:
        feed = lookup.get(Feed, farm_id=by.farm_id, pk=feed_id)
        stale.check(feed, expected_version)
        if feed.entries.exists():
            raise BadInput.at("", _("Its ledger has lines: it stays in the records."))
        log.says(feed, _("Feed %(feed)s removed") % {"feed": feed})
        log.remove(feed)


def _values(feed: Feed) -> dict[str, Any]:
    names = ("name", "kind", "species", "medicated", *RANGES)
    return {name: getattr(feed, name) for name in names}


def _tidied(fields: Mapping[str, Any]) -> dict[str, Any]:
    return {name: value.strip() if name in ("name", "kind") else value for name, value in fields.items()}


def _check(feed: Feed, values: Mapping[str, Any]) -> None:
    """Raise BadInput, all fields at once, for what a feed cannot be."""
    problems = _out_of_range(values)
    others = Feed.objects.filter(farm_id=feed.farm_id, name=values["name"]).exclude(pk=feed.pk)
    if not values["name"]:
        problems["name"] = [_("Give the feed a name, as it stands on the bag.")]
    elif others.exists():
        problems["name"] = [_("Another feed already has this name.")]
    if values["kind"] not in feed_kinds.names(feed.farm_id):
        problems["kind"] = [_("Choose which feed of the programmes it is.")]
    if not values["species"]:
        problems["species"] = [_("Tick who eats it: one species' feed can harm another.")]
    elif not set(values["species"]) <= set(feed_kinds.species()):
        problems["species"] = [_("Choose species that are known.")]
    if values["wait_days"] is not None and not values["medicated"]:
        problems["wait_days"] = [
            _("Only a medicated feed has days to wait. Tick “medicated”, or leave this empty.")
        ]
    if problems:
        raise BadInput(problems)


def _out_of_range(values: Mapping[str, Any]) -> dict[str, list[object]]:
    text = _("Enter a number from %(low)s to %(high)s.")
    return {
        name: [text % {"low": f"{low:g}", "high": f"{high:g}"}]
        for name, (low, high) in RANGES.items()
        if not (values[name] is None and name in ("keeps_days", "wait_days"))
        and not (values[name] is not None and low <= values[name] <= high)
    }
