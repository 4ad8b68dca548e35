"""The ledger of a batch: adding a line, and taking one back."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods

from farm.models import Batch, CountEntry
from farm.models.count_entry import CountKind
from farm.models.member import Role
from farm.queries import heads, lookup
from farm.services import counts
from farm.services.counts import MOST_BIRDS
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.forms import EMPTY_CHOICE, DayField, FarmForm
from farm.web.mishaps import shown_in

#: What keepers enter, the everyday first; a taking back is made from the line itself.
KINDS = (
    CountKind.DIED,
    CountKind.CULLED,
    CountKind.SOLD,
    CountKind.PROCESSED,
    CountKind.KEPT_BACK,
    CountKind.FOUND,
    CountKind.ARRIVED,
    CountKind.HATCHED,
)


class CountForm(FarmForm):
    """One line of the ledger. `client_key` makes a form sent twice one line."""

    kind = forms.ChoiceField(
        label=gettext_lazy("What happened"), choices=[EMPTY_CHOICE, *((kind, kind.label) for kind in KINDS)]
    )
    birds = forms.IntegerField(label=gettext_lazy("Birds"), min_value=1, max_value=MOST_BIRDS)
    day = DayField(label=gettext_lazy("Day"))
    housing_id = forms.TypedChoiceField(
        label=gettext_lazy("Where"), required=False, coerce=int, empty_value=None
    )
    note = forms.CharField(label=gettext_lazy("Note"), required=False, max_length=200)
    override_reason = forms.CharField(
        label=gettext_lazy("Reason, if they go before days to wait are over"),
        required=False,
        max_length=200,
        help_text=gettext_lazy("Keepers only. Your reason is kept with the line."),
    )
    client_key = forms.CharField(widget=forms.HiddenInput, required=False, max_length=64)

    def __init__(self, *args: Any, batch: Batch, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not batch.waits.exists():
            del self.fields["override_reason"]
        field = self.fields["housing_id"]
        assert isinstance(field, forms.ChoiceField)
        mine = {stay.housing_id: stay.housing for stay in batch.stays.select_related("housing")}
        field.choices = [("", _("not known")), *((str(pk), row.name) for pk, row in mine.items())]


@require_http_methods(["GET", "POST"])
@farm_page(Role.HELPER)
def count(request: FarmRequest, pk: int) -> HttpResponse:
    """Add a line to the ledger; `?kind=sold` starts the form with what happened."""
    farm, today = request.visit.farm, request.visit.by.today
    batch = lookup.get(Batch, farm_id=farm.pk, pk=pk)
    if batch.expected and request.method == "GET":
        messages.info(
            request, _("%(batch)s is not here yet, so there is nothing to count.") % {"batch": batch}
        )
        return redirect("batch", pk)
    form = CountForm(
        request.POST if request.method == "POST" else None,
        initial=_opening(batch, today, request.GET.get("kind", "")),
        farm=farm,
        batch=batch,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            entry = counts.add(request.visit.by, batch_id=pk, **form.values())
        if form.is_valid():
            here = {"line": counts.line(entry), "here": heads.alive_on(batch, today)}
            messages.success(request, _("%(line)s; %(here)d are here now.") % here)
            return redirect("batch", pk)
    context = {"form": form, "batch": batch, "here": heads.alive_on(batch, today), "today": today}
    return render(request, "web/batches/count.html", context)


@require_http_methods(["GET", "POST"])
@farm_page(Role.HELPER)
def reverse(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then take a line back by its opposite."""
    farm = request.visit.farm
    entry = lookup.get(CountEntry, farm_id=farm.pk, pk=pk)
    form, done = ask_first(request, lambda: counts.reverse(request.visit.by, entry_id=pk))
    if done:
        messages.success(request, _("Taken back: %(line)s.") % {"line": counts.line(entry)})
        return redirect("batch", entry.batch_id)
    context = {"form": form, "entry": entry, "batch": entry.batch, "line": counts.line(entry)}
    return render(request, "web/batches/reverse.html", context)


def _opening(batch: Batch, today: date, asked: str) -> dict[str, Any]:
    """Return what a line starts with: today, and the place when they all live in one."""
    housings = {stay.housing_id for stay, _birds in heads.places_on(batch, today)[0]}
    return {
        "kind": asked if asked in KINDS else "",
        "day": today,
        "housing_id": next(iter(housings)) if len(housings) == 1 else "",
        "client_key": secrets.token_urlsafe(18),
    }
