"""Machines for eggs: their list, and adding, changing and removing one."""

from __future__ import annotations

from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext, gettext_lazy
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from farm.models import EggSet, Machine
from farm.models.egg_set import EggSetState
from farm.models.machine import Air, MachineWork
from farm.models.member import Role
from farm.queries import lookup, whereabouts
from farm.services import machines
from farm.services.machine_rules import CAPACITIES, MOST_CLEANING_DAYS, MOST_EGGS
from farm.trade import species
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.forms import DayField, VersionedForm
from farm.web.hatching import fields
from farm.web.hatching.wording import does, holds
from farm.web.housing.forms import whereabouts_field
from farm.web.mishaps import shown_in

_BOTH = ["GET", "POST"]
#: What a new machine starts with. Project default (judgement).
_USUAL = {
    "does": MachineWork.BOTH,
    "air": Air.FORCED,
    "small_eggs": 0,
    "medium_eggs": 0,
    "large_eggs": 0,
    "very_large_eggs": 0,
    "turns_itself": True,
    "cleaning_days": 1,
}


def _eggs(label: Any, **kwargs: Any) -> forms.IntegerField:
    return forms.IntegerField(label=label, min_value=0, max_value=MOST_EGGS, required=False, **kwargs)


class MachineForm(VersionedForm):
    """A machine: what it does, how many eggs of each size fill it, and its rules."""

    later = ("whereabouts",)
    name = forms.CharField(
        label=gettext_lazy("Name"), max_length=60, help_text=gettext_lazy("As it stands on the machine.")
    )
    does = forms.ChoiceField(label=gettext_lazy("What it does"), choices=MachineWork.choices)
    medium_eggs = _eggs(
        gettext_lazy("Hen's eggs that fill it"),
        help_text=gettext_lazy("Also pheasants and guinea fowl. 0: it takes none of that size."),
    )
    small_eggs = _eggs(gettext_lazy("Quail eggs that fill it"))
    large_eggs = _eggs(gettext_lazy("Duck or turkey eggs that fill it"))
    very_large_eggs = _eggs(gettext_lazy("Goose eggs that fill it"))
    air = forms.ChoiceField(
        label=gettext_lazy("Air"),
        choices=Air.choices,
        help_text=gettext_lazy("The right temperature depends on it."),
    )
    turns_itself = forms.BooleanField(
        label=gettext_lazy("It turns the eggs by itself"),
        required=False,
        help_text=gettext_lazy("If not, turning becomes a chore of the day."),
    )
    cleaning_days = forms.IntegerField(
        label=gettext_lazy("Days for cleaning after a hatch"), min_value=0, max_value=MOST_CLEANING_DAYS
    )
    species = forms.MultipleChoiceField(
        label=gettext_lazy("Only for"),
        required=False,
        widget=forms.CheckboxSelectMultiple,
        help_text=gettext_lazy("Tick none to allow all."),
    )
    in_service_from = DayField(
        label=gettext_lazy("In use from"), required=False, help_text=gettext_lazy("Empty: it always was.")
    )
    in_service_to = DayField(
        label=gettext_lazy("Out of use from"),
        required=False,
        help_text=gettext_lazy("Empty: in use until further notice."),
    )
    notes = fields.notes()
    whereabouts = whereabouts_field()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        fields.choose(self, "species", [(key, gettext(one.plural)) for key, one in species.species().items()])

    def clean(self) -> dict[str, Any]:
        """Take an empty number of eggs as none of that size."""
        found = super().clean() or {}
        return found | {name: found[name] or 0 for name in CAPACITIES if name in found}

    @property
    def places(self) -> list[str]:
        """Return the places that have a name already."""
        return whereabouts.known(self.farm)

    @staticmethod
    def stored(machine: Machine) -> dict[str, Any]:
        """Return a machine's values for its form."""
        return {name: getattr(machine, name) for name in MachineForm.base_fields}


@require_safe
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """Show the farm's machines."""
    rows = [
        {"machine": row, "does": does(row), "holds": holds(row), "species": _species(row)}
        for row in Machine.objects.filter(farm=request.visit.farm)
    ]
    return render(request, "web/hatching/machines.html", {"rows": rows, "today": request.visit.by.today})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def new(request: FarmRequest) -> HttpResponse:
    """Add a machine."""
    form = MachineForm(
        request.POST if request.method == "POST" else None, initial=_USUAL, farm=request.visit.farm
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            machine = machines.add(request.visit.by, **form.values())
        if form.is_valid():
            messages.success(request, _("%(machine)s is ready for eggs.") % {"machine": machine})
            return redirect("hatching")
    return render(request, "web/hatching/machine_form.html", {"form": form})


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def edit(request: FarmRequest, pk: int) -> HttpResponse:
    """Change a machine."""
    machine = lookup.get(Machine, farm_id=request.visit.farm.pk, pk=pk)
    form = MachineForm(
        request.POST if request.method == "POST" else None,
        initial=MachineForm.stored(machine),
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            machines.change(
                request.visit.by, machine_id=pk, expected_version=form.seen_version, **form.values()
            )
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("machines")
    open_sets = EggSet.objects.filter(setter=machine, state=EggSetState.OPEN)
    open_sets |= EggSet.objects.filter(hatcher=machine, state=EggSetState.OPEN)
    return render(
        request, "web/hatching/machine_form.html", {"form": form, "machine": machine, "open_sets": open_sets}
    )


@require_http_methods(_BOTH)
@farm_page(Role.KEEPER)
def remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a machine that no eggs were set in."""
    machine = lookup.get(Machine, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: machines.remove(request.visit.by, machine_id=pk))
    if done:
        messages.success(request, _("%(machine)s is removed.") % {"machine": machine})
        return redirect("machines")
    used = machine.sets.exists() or machine.hatches.exists()
    return render(
        request, "web/hatching/machine_remove.html", {"form": form, "machine": machine, "used": used}
    )


def _species(machine: Machine) -> str:
    return ", ".join(gettext(species.species()[key].plural) for key in machine.species)
