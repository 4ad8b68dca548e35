"""The list of batches, and the page of one."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils.translation import gettext_lazy as _
from django.views.decorators.http import require_safe

from farm.models import Batch, Housing, Observation
from farm.models.member import Role
from farm.queries import alerts, lookup, out_dates, programmes
from farm.queries import batches as read
from farm.trade import behaviours
from farm.web.access import FarmRequest, farm_page
from farm.web.batches import keep, life, losses, weights
from farm.web.orders import holds
from farm.web.quick.forms import QuickForm

_LATEST = 20  # observations shown

#: The filter of the list, in the order of its links.
SHOWN = {read.CURRENT: _("Here now"), read.EXPECTED: _("Expected"), read.GONE: _("Gone"), "all": _("All")}


@require_safe
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """Show the batches with their birds, places, next step and losses; `?show=expected` filters."""
    farm, today = request.visit.farm, request.visit.by.today
    found = read.listing(farm, today)
    asked = request.GET.get("show", "")
    counts = {key: len([row for row in found if key in (row.state, "all")]) for key in SHOWN}
    if asked not in SHOWN:
        asked = next((key for key in (read.CURRENT, read.EXPECTED) if counts[key]), "all")
    context = {
        "rows": [row for row in found if asked in (row.state, "all")],
        "choices": [(key, word, counts[key]) for key, word in SHOWN.items()],
        "shown": asked,
        "today": today,
        "any_housing": Housing.objects.filter(farm=farm).exists(),
    }
    return render(request, "web/batches/batches.html", context)


@require_safe
@farm_page()
def page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show one batch: its life line, ledger, losses, weights, stays and what was seen."""
    farm, today = request.visit.farm, request.visit.by.today
    lookup.get(Batch, farm_id=farm.pk, pk=pk)
    batch = read.whole(farm, pk)
    context = {
        "batch": batch,
        "today": today,
        "now": read.summary(batch, today),
        "programme": programmes.of(batch),
        "life": life.draw(batch, today),
        "ledger": read.ledger(batch),
        "losses": losses.draw(batch, today),
        "weights": weights.draw(batch, today, farm.units),
        "stays": read.stays(batch, today),
        "seen": _seen(batch),
        "orders": holds.of_batch(farm, batch, today) if request.visit.member.role != Role.CHILD else None,
        "outing": out_dates.of(batch, today) if read.summary(batch, today).state != read.GONE else None,
        "standing": alerts.shown(farm, batch.pk),
        **keep.of(batch, request.visit),
        "quick": QuickForm.opened(farm, back=str(pk)),
    }
    return render(request, "web/batches/page.html", context)


def _seen(batch: Batch) -> list[Observation]:
    """Return the latest observations, each with `saw`: the untranslated words of a behaviour."""
    found = list(batch.observations.select_related("member", "housing")[:_LATEST])
    for one in found:
        known = behaviours.behaviours().get(one.word)
        one.saw = known.seen if known else one.word  # type: ignore[attr-defined]
    return found
