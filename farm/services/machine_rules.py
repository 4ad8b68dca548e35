"""What must hold of a machine, and of the egg sets in machines, said in words when it does not."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from farm import wording
from farm.errors import BadInput
from farm.models import EggSet, Farm, Machine
from farm.models.egg_set import EggSetState
from farm.models.machine import Air, MachineWork
from farm.planning.machines import Conflict
from farm.queries import hatching
from farm.services import day_rules
from farm.trade import species
from farm.trade.eggs import SIZES

CAPACITIES = tuple(f"{size}_eggs" for size in SIZES)
#: Accepted numbers: project default (judgement).
MOST_EGGS, MOST_CLEANING_DAYS = 100_000, 30
_FAR_DAYS = 20 * 366

Problems = dict[str, list[object]]


def tidied(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Return the fields as they are stored: words without needless spaces, so that one place has one name."""
    tidy = {"name": str.strip, "whereabouts": lambda words: " ".join(words.split())}
    return {name: tidy[name](value) if name in tidy else value for name, value in fields.items()}


def check(machine: Machine, fields: Mapping[str, Any], today: date) -> None:
    """Raise BadInput, all fields at once, for values a machine cannot have. `fields` are those just typed."""
    problems = _numbers(machine, fields) | _words(machine, fields) | _days(machine, fields, today)
    if problems:
        raise BadInput(problems)


def check_unused(machine: Machine) -> None:
    """Raise BadInput when any egg set names the machine: its history would lose where it was."""
    for link in ("sets", "hatches"):
        if getattr(machine, link).exists():
            raise BadInput.at("", _("Eggs were set in it. Set the day it goes out of use instead."))


def check_still_possible(before: Collection[Conflict], farm: Farm, moved: Collection[str]) -> None:
    """Raise BadInput, at the field of a machine that was tightened, when its open egg sets do not go with it any more.

    before: the conflicts there were. moved: names of the fields that were changed.
    """
    problems: Problems = {}
    for conflict in worse(before, hatching.conflicts(farm)):
        field = next((name for name in _fields_of(conflict) if name in moved), "")
        problems.setdefault(field, []).append(wording.say(conflict.sentence()))
    if problems:
        raise BadInput(problems)


def check_set(before: Collection[Conflict], egg_set: EggSet) -> None:
    """Raise BadInput, at the fields of an egg set just saved, for conflicts with its machines that were not there."""
    problems: Problems = {}
    for conflict in worse(before, hatching.conflicts(egg_set.farm)):
        problems.setdefault(_field(conflict, egg_set), []).append(wording.say(conflict.sentence()))
    if problems:
        raise BadInput(problems)


def check_all(before: Collection[Conflict], farm: Farm) -> None:
    """Raise BadInput for the whole form when there are conflicts that were not there before."""
    texts: list[object] = [wording.say(each.sentence()) for each in worse(before, hatching.conflicts(farm))]
    if texts:
        raise BadInput({"": texts})


def worse(before: Iterable[Conflict], after: Iterable[Conflict]) -> list[Conflict]:
    """Return the conflicts that are new, or of more eggs than the same one was."""
    known: dict[tuple[object, ...], int] = {}
    for each in before:
        known[_key(each)] = max(each.eggs, known.get(_key(each), 0))
    return [each for each in after if each.eggs > known.get(_key(each), 0)]


def is_open(egg_set: EggSet) -> None:
    """Raise BadInput for an egg set that is over."""
    if egg_set.state == EggSetState.HATCHED:
        raise BadInput.at("", _("The hatch of %(set)s was already recorded.") % {"set": egg_set})
    if egg_set.state == EggSetState.CANCELLED:
        raise BadInput.at("", _("%(set)s was cancelled.") % {"set": egg_set})


def _key(conflict: Conflict) -> tuple[object, ...]:
    return conflict.kind, conflict.machine, conflict.loads, conflict.hatching


def _field(conflict: Conflict, egg_set: EggSet) -> str:
    """Return the field of an egg set at which a conflict is mended."""
    if conflict.kind == "capacity":
        return "eggs"
    if conflict.kind in ("lockdown", "cleaning"):
        return "set_on"
    only_hatcher = conflict.machine == str(egg_set.hatcher_id) != str(egg_set.setter_id)
    return "hatcher_id" if only_hatcher else "setter_id"


def _fields_of(conflict: Conflict) -> tuple[str, ...]:
    """Return the fields of a machine that can bring a conflict about."""
    return {
        "capacity": CAPACITIES,
        "size": CAPACITIES,
        "species": ("species",),
        "service": ("in_service_from", "in_service_to"),
        "cleaning": ("cleaning_days",),
        "work": ("does",),
    }.get(conflict.kind, ())


def _numbers(machine: Machine, fields: Mapping[str, Any]) -> Problems:
    limits = dict.fromkeys(CAPACITIES, MOST_EGGS) | {"cleaning_days": MOST_CLEANING_DAYS}
    problems: Problems = {
        name: [_("Enter a number from %(low)d to %(high)d.") % {"low": 0, "high": most}]
        for name, most in limits.items()
        if name in fields and not 0 <= fields[name] <= most
    }
    if not problems and not any(fields.get(name, getattr(machine, name)) for name in CAPACITIES):
        problems["medium_eggs"] = [_("Say how many eggs fit, of one size at least.")]
    return problems


def _words(machine: Machine, fields: Mapping[str, Any]) -> Problems:
    problems: Problems = {}
    if "name" in fields:
        name = fields["name"].strip()
        others = Machine.objects.filter(farm_id=machine.farm_id, name=name).exclude(pk=machine.pk)
        if not name:
            problems["name"] = [_("Give the machine a name.")]
        elif others.exists():
            problems["name"] = [_("Another machine already has this name.")]
    if fields.get("does", MachineWork.BOTH) not in MachineWork.values:
        problems["does"] = [_("Choose what it does.")]
    if fields.get("air", Air.FORCED) not in Air.values:
        problems["air"] = [_("Choose whether it has a fan.")]
    unknown = set(fields.get("species") or ()) - set(species.species())
    if unknown:
        problems["species"] = [_("Unknown species: %(names)s.") % {"names": ", ".join(sorted(unknown))}]
    return problems


def _days(machine: Machine, fields: Mapping[str, Any], today: date) -> Problems:
    problems: Problems = {}
    for name in ("in_service_from", "in_service_to"):
        day = fields.get(name)
        if day is not None and abs((day - today).days) > _FAR_DAYS:
            problems[name] = [_("%(day)s cannot be right. Check the year.") % {"day": day_rules.shown(day)}]
    first = fields.get("in_service_from", machine.in_service_from)
    last = fields.get("in_service_to", machine.in_service_to)
    if first is not None and last is not None and last <= first and not problems:
        problems["in_service_to"] = [_("It must be in use for at least a day: enter a later day.")]
    return problems
