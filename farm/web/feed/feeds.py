"""Adding, changing and removing a feed."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from farm.models import Feed
from farm.models.member import Role
from farm.phrase import Quantity
from farm.queries import lookup
from farm.services import feeds
from farm.trade.cautions import cautions
from farm.trade.general import figure
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.feed.forms import FeedForm
from farm.web.mishaps import shown_in
from farm.wording import quantity

_BOTH = ["GET", "POST"]


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Add a feed; `?kind=starter&species=duck` starts the form with who lacks what."""
    asked = {name: request.GET.get(name, "") for name in ("kind", "species")}
    form = FeedForm(
        request.POST if request.method == "POST" else None,
        initial=FeedForm.usual(asked["kind"], asked["species"]),
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            feed = feeds.add(request.visit.by, **form.values())
        if form.is_valid():
            messages.success(
                request, _("%(feed)s is added. Record what is in the store now.") % {"feed": feed}
            )
            _say_if_large(request, feed)
            return redirect("feed-page", feed.pk)
    return render(request, "web/feed/form.html", {"form": form, "cautions": _cautions()})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a feed."""
    feed = lookup.get(Feed, farm_id=request.visit.farm.pk, pk=pk)
    form = FeedForm(
        request.POST if request.method == "POST" else None,
        initial=FeedForm.stored(feed),
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            changed = feeds.change(
                request.visit.by, feed_id=pk, expected_version=form.seen_version, **form.values()
            )
        if form.is_valid():
            messages.success(request, _("Saved."))
            if changed.bag_kg != feed.bag_kg:
                _say_if_large(request, changed)
            return redirect("feed-page", pk)
    return render(request, "web/feed/form.html", {"form": form, "feed": feed, "cautions": _cautions()})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a feed without a ledger."""
    feed = lookup.get(Feed, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: feeds.remove(request.visit.by, feed_id=pk))
    if done:
        messages.success(request, _("%(feed)s is removed.") % {"feed": feed})
        return redirect("feed")
    return render(
        request, "web/feed/remove.html", {"form": form, "feed": feed, "used": feed.entries.exists()}
    )


def _say_if_large(request: FarmRequest, feed: Feed) -> None:
    """Ask about a bag no one carries: it may be a big bag, or the weight of all bags together."""
    if feed.bag_kg > figure("feed", "bag_carried_kg"):
        weight = quantity(Quantity(feed.bag_kg, "kg"), request.visit.farm.units)
        text = _("A bag of %(weight)s is a big bag. If you meant several bags together, change it.")
        messages.warning(request, text % {"weight": weight})


def _cautions() -> list[object]:
    return [cautions()[key] for key in ("medicated", "ionophore")]
