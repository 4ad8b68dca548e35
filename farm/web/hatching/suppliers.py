"""Those who sell chicks: their list, and adding, changing and removing one."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy
from django.views.decorators.http import require_http_methods, require_safe

from farm.models import Supplier
from farm.models.farm import Weekday
from farm.models.member import Role
from farm.queries import lookup, programmes
from farm.services import suppliers
from farm.services.suppliers import RANGES
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.forms import VersionedForm
from farm.web.hatching import fields
from farm.web.mishaps import shown_in

_BOTH = ["GET", "POST"]


def _number(name: str, label: Any, help_text: Any = "") -> forms.IntegerField:
    low, high = RANGES[name]
    usual = getattr(Supplier(), name)
    return forms.IntegerField(label=label, min_value=low, max_value=high, initial=usual, help_text=help_text)


class SupplierForm(VersionedForm):
    """A supplier: what it sells, when its chicks come, and how long they are on the way."""

    name = forms.CharField(label=gettext_lazy("Name"), max_length=80)
    lead_days = _number("lead_days", gettext_lazy("Days from ordering to arrival"))
    hours_on_the_way = _number(
        "hours_on_the_way",
        gettext_lazy("Hours from hatch to arrival"),
        gettext_lazy("Usually. Chicks live on their yolk for up to three days."),
    )
    minimum = _number("minimum", gettext_lazy("Least number of chicks"))
    sexed = forms.BooleanField(label=gettext_lazy("Sells sexed chicks"), required=False)
    weekdays = forms.TypedMultipleChoiceField(
        label=gettext_lazy("Days chicks come"),
        required=False,
        coerce=int,
        choices=Weekday.choices,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("Tick none when any day is possible."),
    )
    types = forms.MultipleChoiceField(
        label=gettext_lazy("Types it sells"), required=False, widget=forms.CheckboxSelectMultiple
    )
    notes = fields.notes()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields.choose(self, "types", programmes.by_species(self.farm.pk))

    @staticmethod
    def stored(supplier: Supplier) -> dict[str, Any]:
        """Return a supplier's values for its form."""
        return {name: getattr(supplier, name) for name in SupplierForm.base_fields}


@require_safe
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """Show those who sell chicks."""
    names = dict(programmes.choices(request.visit.farm.pk))
    rows = [
        {
            "supplier": row,
            "types": ", ".join(_(names[key]) for key in row.types if key in names),
            "weekdays": ", ".join(str(Weekday(day).label) for day in sorted(row.weekdays)),
        }
        for row in Supplier.objects.filter(farm=request.visit.farm)
    ]
    return render(request, "web/hatching/suppliers.html", {"rows": rows})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Add a supplier."""
    form = SupplierForm(request.POST if request.method == "POST" else None, farm=request.visit.farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            supplier = suppliers.add(request.visit.by, **form.values())
        if form.is_valid():
            messages.success(request, _("%(supplier)s is added.") % {"supplier": supplier})
            return redirect("suppliers")
    return render(request, "web/hatching/supplier_form.html", {"form": form})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a supplier."""
    supplier = lookup.get(Supplier, farm_id=request.visit.farm.pk, pk=pk)
    form = SupplierForm(
        request.POST if request.method == "POST" else None,
        initial=SupplierForm.stored(supplier),
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            suppliers.change(
                request.visit.by, supplier_id=pk, expected_version=form.seen_version, **form.values()
            )
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("suppliers")
    return render(request, "web/hatching/supplier_form.html", {"form": form, "supplier": supplier})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a supplier no chicks came from."""
    supplier = lookup.get(Supplier, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: suppliers.remove(request.visit.by, supplier_id=pk))
    if done:
        messages.success(request, _("%(supplier)s is removed.") % {"supplier": supplier})
        return redirect("suppliers")
    used = supplier.intakes.exists()
    return render(
        request, "web/hatching/supplier_remove.html", {"form": form, "supplier": supplier, "used": used}
    )
