"""What machines and egg sets are called on the pages, in the reader's language."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.models import Machine
from farm.models.machine import MachineWork
from farm.trade.eggs import SIZES


def holds(machine: Machine) -> str:
    """Return the eggs a machine holds of each size it takes: "60 hen's eggs or 48 duck eggs"."""
    texts = {
        "small": ngettext("%(n)d quail egg", "%(n)d quail eggs", machine.small_eggs),
        "medium": ngettext("%(n)d hen's egg", "%(n)d hen's eggs", machine.medium_eggs),
        "large": ngettext("%(n)d duck egg", "%(n)d duck eggs", machine.large_eggs),
        "very_large": ngettext("%(n)d goose egg", "%(n)d goose eggs", machine.very_large_eggs),
    }
    eggs = {size: getattr(machine, f"{size}_eggs") for size in SIZES}
    return _(" or ").join(texts[size] % {"n": eggs[size]} for size in SIZES if eggs[size])


def does(machine: Machine) -> str:
    """Return in one word what a machine does."""
    return {
        MachineWork.BOTH.value: _("incubator"),
        MachineWork.SETTER.value: _("setter"),
        MachineWork.HATCHER.value: _("hatcher"),
    }[machine.does]
