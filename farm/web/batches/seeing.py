"""Noting what was seen of a batch: weights, temperatures, behaviour, feed left, words."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.core.validators import MaxValueValidator, MinValueValidator
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from farm.models import Batch
from farm.models.member import Role
from farm.models.observation import ObservationKind
from farm.queries import heads, lookup
from farm.services import observations
from farm.services.counts import MOST_BIRDS
from farm.services.observations import RANGES
from farm.web.access import FarmRequest, farm_page
from farm.web.forms import QuantityField
from farm.web.housing.forms import SEEN_FORMS, SeenForm
from farm.web.mishaps import shown_in


class WeightForm(SeenForm):
    """A weighing: the mean of the birds on the scale."""

    kind = ObservationKind.WEIGHT
    value = QuantityField(
        unit="g",
        digits=1,
        label=gettext_lazy("Weight of one bird"),
        help_text=gettext_lazy("The mean, when several were weighed."),
        validators=[
            MinValueValidator(RANGES[ObservationKind.WEIGHT][0]),
            MaxValueValidator(RANGES[ObservationKind.WEIGHT][1]),
        ],
    )
    birds = forms.IntegerField(
        label=gettext_lazy("Birds weighed"), min_value=1, max_value=MOST_BIRDS, required=False
    )


class FeedLeftForm(SeenForm):
    """Feed left over."""

    kind = ObservationKind.FEED_LEFT
    value = QuantityField(
        unit="kg",
        digits=2,
        label=gettext_lazy("Feed left"),
        validators=[
            MinValueValidator(RANGES[ObservationKind.FEED_LEFT][0]),
            MaxValueValidator(RANGES[ObservationKind.FEED_LEFT][1]),
        ],
    )


FORMS: dict[str, type[SeenForm]] = {
    WeightForm.kind: WeightForm,
    **SEEN_FORMS,
    FeedLeftForm.kind: FeedLeftForm,
}


@require_http_methods(["GET", "POST"])
@farm_page(Role.CHILD)
def observe(request: FarmRequest, pk: int) -> HttpResponse:
    """Record one thing seen of a batch; one small form for each kind."""
    farm, today = request.visit.farm, request.visit.by.today
    batch = lookup.get(Batch, farm_id=farm.pk, pk=pk)
    shown = {kind: form(farm=farm, auto_id=f"{kind}-%s") for kind, form in FORMS.items()}
    if request.method == "POST":
        kind = request.POST.get("kind", "")
        if kind not in FORMS:
            raise Http404
        form = shown[kind] = FORMS[kind](request.POST, farm=farm, auto_id=f"{kind}-%s")
        if form.is_valid():
            with shown_in(form):
                observations.add(request.visit.by, batch_id=pk, **_place(batch, request), **form.seen())
            if form.is_valid():
                messages.success(request, _("Noted for %(batch)s.") % {"batch": batch})
                return redirect("batch", pk)
    return render(
        request, "web/batches/observe.html", {"forms": shown.values(), "batch": batch, "today": today}
    )


def _place(batch: Batch, request: FarmRequest) -> dict[str, Any]:
    """Return the housing it was seen in, when the whole batch lives in one today."""
    housings = {stay.housing_id for stay, _birds in heads.places_on(batch, request.visit.by.today)[0]}
    return {"housing_id": next(iter(housings))} if len(housings) == 1 else {}
