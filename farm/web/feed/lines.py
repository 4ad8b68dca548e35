"""The lines of a feed's ledger: bought, a bag opened, thrown away, counted anew, taken back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from farm.errors import BadInput
from farm.models import Feed, FeedEntry
from farm.models.member import Role
from farm.phrase import Quantity
from farm.queries import feed_store, lookup
from farm.services import feed_entries
from farm.trade.cautions import cautions
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.feed.forms import BuyForm, CountForm, LineForm, OpenForm, SpoilForm
from farm.web.mishaps import shown_in
from farm.wording import quantity

_BOTH = ["GET", "POST"]


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def buy(request: FarmRequest, pk: int) -> HttpResponse:
    """Record feed bought."""

    def write(form: BuyForm) -> FeedEntry:
        values = form.bought()
        try:
            return feed_entries.buy(request.visit.by, feed_id=pk, **values)
        except BadInput as refused:
            # The form knows a price in money, the service in cents.
            fields = {
                "price" if name == "price_cents" else name: text for name, text in refused.fields.items()
            }
            raise BadInput(fields) from refused

    return _line(
        request, pk, BuyForm, write, gettext_lazy("%(feed)s: bought"), gettext_lazy("Add to the store")
    )


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def open_bag(request: FarmRequest, pk: int) -> HttpResponse:
    """Record a bag opened: one press of a button, or a form for another day or several bags."""
    feed = lookup.get(Feed, farm_id=request.visit.farm.pk, pk=pk)

    def write(form: OpenForm) -> FeedEntry:
        return feed_entries.open_bag(request.visit.by, feed_id=pk, **form.values())

    heading, button = gettext_lazy("%(feed)s: opened"), gettext_lazy("Opened")
    answer = _line(request, pk, OpenForm, write, heading, button)
    if feed.medicated and answer.status_code == 302:
        messages.warning(request, _("This feed is medicated. Write down days to wait for those that eat it."))
        return redirect("feed-page", pk)
    return answer


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def spoil(request: FarmRequest, pk: int) -> HttpResponse:
    """Record unopened feed thrown away."""

    def write(form: SpoilForm) -> FeedEntry:
        return feed_entries.spoil(request.visit.by, feed_id=pk, **form.values())

    return _line(
        request, pk, SpoilForm, write, gettext_lazy("%(feed)s: thrown away"), gettext_lazy("Take it off")
    )


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def correct(request: FarmRequest, pk: int) -> HttpResponse:
    """Record what was counted in the store."""

    def write(form: CountForm) -> FeedEntry | None:
        return feed_entries.correct(request.visit.by, feed_id=pk, **form.values())

    return _line(
        request,
        pk,
        CountForm,
        write,
        gettext_lazy("%(feed)s: count the store"),
        gettext_lazy("That is there"),
    )


@require_http_methods(_BOTH)
@farm_page(Role.HELPER)
def reverse(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then take a line back by its opposite."""
    entry = lookup.get(FeedEntry, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: feed_entries.reverse(request.visit.by, entry_id=pk))
    if done:
        messages.success(request, _("Taken back."))
        return redirect("feed-page", entry.feed_id)
    kg = abs(entry.grams) / feed_store.GRAMS
    return render(
        request, "web/feed/reverse.html", {"form": form, "entry": entry, "feed": entry.feed, "kg": kg}
    )


def _line(
    request: FarmRequest,
    pk: int,
    kind: type[LineForm],
    write: Callable[[Any], FeedEntry | None],
    heading: Any,
    button: Any,
) -> HttpResponse:
    """Show the form of a line and write it; afterwards back to the store, saying what is in it."""
    farm, today = request.visit.farm, request.visit.by.today
    feed = lookup.get(Feed, farm_id=farm.pk, pk=pk)
    form = kind(
        request.POST if request.method == "POST" else None,
        initial=kind.opening(today),
        farm=farm,
        today=today,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            write(form)
        if form.is_valid():
            left = quantity(Quantity(_unopened_kg(feed), "kg"), farm.units)
            text = _("Saved. %(feed)s: %(left)s unopened in the store.")
            messages.success(request, text % {"feed": feed, "left": left})
            return redirect("feed")
    context = {
        "form": form,
        "feed": feed,
        "heading": heading % {"feed": feed},
        "button": button,
        "unopened_kg": _unopened_kg(feed),
        "cautions": [cautions()["medicated"]] if feed.medicated else [],
    }
    return render(request, "web/feed/line.html", context)


def _unopened_kg(feed: Feed) -> float:
    return feed_store.grams(list(FeedEntry.objects.filter(feed=feed))) / feed_store.GRAMS
