"""What an item of the agenda is about: which calendars hold it, its category, and the page it opens."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from datetime import date

from django.urls import reverse
from django.utils.translation import gettext as _

from calendars.choices import Scope
from farm.planning.agenda import Item

#: Jobs of steps a family plans its weeks around.
OUTLOOK_JOBS = frozenset({"move", "hatch", "hand_over"})
_PAGES = {"eggs": "egg-set", "batch": "batch"}


def holds(scope: str, about: int | None) -> Callable[[Item], bool]:
    """Return what says whether a calendar of a scope is about an item, whoever does it."""
    key = str(about)
    known: dict[str, Callable[[Item], bool]] = {
        Scope.HOUSING: lambda item: item.room == key,
        Scope.BATCH: lambda item: key == item.batch or key in item.batches,
        Scope.ORDERS: lambda item: item.kind == "step" and _kind(item) in ("line", "eggs"),
        Scope.OUTLOOK: lambda item: item.kind == "step" and item.job in OUTLOOK_JOBS,
    }
    return known.get(scope, lambda _item: True)


def categories(item: Item) -> tuple[str, ...]:
    """Return a step's categories: that it is a step, and what of."""
    jobs = {"move": _("Move"), "hatch": _("Hatch"), "hand_over": _("Pick-up")}
    kinds = {"batch": _("Birds"), "eggs": _("Eggs"), "room": _("Housing"), "machine": _("Machine")}
    topic = jobs.get(item.job) or kinds.get(_kind(item), "")
    return (_("Step"), topic) if topic else (_("Step"),)


def day_path(day: date, scope: str = Scope.FARM) -> str:
    """Return the path of the page on which the day's chores are ticked: of a member's own, their own page."""
    return f"{reverse('my' if scope == Scope.MINE else 'today')}?day={day.isoformat()}"


def path(item: Item, scope: str, orders: Mapping[str, int]) -> str:
    """Return the path of the page a step is ticked on, or of the one thing it is about.

    orders: numbers of orders by those of their lines, as text.
    """
    kind, _colon, rest = item.source.partition(":")
    key = rest.partition("/")[0]
    if scope != Scope.MINE and key.isascii() and key.isdigit():
        if kind == "line" and key in orders:
            return reverse("order", args=[orders[key]])
        if kind in _PAGES:
            return reverse(_PAGES[kind], args=[key])
    return day_path(item.due, scope)


def _kind(item: Item) -> str:
    return item.source.partition(":")[0]
