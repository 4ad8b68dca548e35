"""What must hold of an egg set by itself, said in words at its fields when it does not."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput
from farm.husbandry import incubation
from farm.models import EggSet, Machine
from farm.models.machine import MachineWork
from farm.queries import hatching
from farm.services import day_rules
from farm.trade.eggs import egg_kind

MOST_EGGS = 10_000  # project default (judgement): a guard against a slip of the finger

Problems = dict[str, list[object]]


def check(egg_set: EggSet, today: date, *, typed: bool, reason: str) -> None:
    """Raise BadInput, all fields at once, for an egg set about to be saved; its machines are judged apart.

    typed: its set day was typed anew. reason: why eggs stored too long are set all the same, "" for none.
    """
    problems: Problems = {
        "name": _name(egg_set),
        "eggs": _eggs(egg_set),
        "stored_days": _storage(egg_set, reason),
        "set_on": _day(egg_set, today) if typed else [],
        "setter_id": _setter(egg_set.setter),
        "hatcher_id": _hatcher(egg_set.hatcher),
    }
    found = {name: texts for name, texts in problems.items() if texts}
    if found:
        raise BadInput(found)


def _name(egg_set: EggSet) -> list[object]:
    if not egg_set.name:
        return [_("Give the egg set a name.")]
    others = EggSet.objects.filter(farm_id=egg_set.farm_id, name=egg_set.name).exclude(pk=egg_set.pk)
    return [_("Another egg set already has this name.")] if others.exists() else []


def _eggs(egg_set: EggSet) -> list[object]:
    if not 1 <= egg_set.eggs <= MOST_EGGS:
        return [_("Enter a number from 1 to %(most)d.") % {"most": MOST_EGGS}]
    if egg_set.pk is None:
        return []
    known = EggSet.objects.get(pk=egg_set.pk)
    found = known.eggs - hatching.left_of(known)
    if egg_set.eggs < found:
        text = ngettext(
            "What became of %(found)d egg is recorded: there were no fewer.",
            "What became of %(found)d eggs is recorded: there were no fewer.",
            found,
        )
        return [text % {"found": found}]
    return []


def _storage(egg_set: EggSet, reason: str) -> list[object]:
    kind, days = egg_kind(egg_set.species), egg_set.stored_days
    if not 0 <= days <= kind.longest_storage_days:
        text = _("Eggs stored for more than %(most)d days are not set. Enter a number from 0 to %(most)d.")
        return [text % {"most": kind.longest_storage_days}]
    if incubation.storage(egg_set.species, days) == "refused" and not reason:
        text = _(
            "Few eggs hatch that were stored for more than %(most)d days. Write the reason if you mean it."
        )
        return [text % {"most": kind.refuse_storage_days}]
    return []


def _day(egg_set: EggSet, today: date) -> list[object]:
    if typo := day_rules.typo(egg_set.set_on, today):
        return typo
    dates = hatching.dates_of(egg_set)
    if dates.out_latest < today:
        text = _("These eggs would have hatched by %(day)s. Start a batch for their chicks instead.")
        return [text % {"day": day_rules.shown(dates.hatch_last)}]
    first = egg_set.entries.order_by("day").first() if egg_set.pk is not None else None
    if first is not None and first.day < egg_set.set_on:
        text = _("They were candled on %(day)s: they were set before that.")
        return [text % {"day": day_rules.shown(first.day)}]
    return []


def _setter(setter: Machine) -> list[object]:
    if setter.does == MachineWork.HATCHER:
        return [_("%(machine)s is a hatcher: choose an incubator or a setter.") % {"machine": setter}]
    return []


def _hatcher(hatcher: Machine) -> list[object]:
    if hatcher.does == MachineWork.SETTER:
        text = _("%(machine)s is a setter: choose where the eggs hatch.")
        return [text % {"machine": hatcher}]
    return []
