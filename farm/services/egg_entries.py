"""What candling shows of the eggs of a set: lines are added, and a mistake is undone."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput
from farm.models import EggEntry, EggSet
from farm.models.egg_set import EggKind, EggSetState
from farm.models.member import Role
from farm.queries import hatching, lookup
from farm.services import day_rules, egg_sets
from farm.services.actor import Actor
from farm.services.writing import Log, write

#: What candling can show. The hatch itself is recorded by `hatches`.
KINDS = (EggKind.CLEAR, EggKind.EARLY_DEAD, EggKind.QUITTER, EggKind.BROKEN)


def record(
    by: Actor, *, egg_set_id: int, counts: Mapping[str, int], day: date, client_key: str = ""
) -> list[EggEntry]:
    """Record eggs found by kind, those of `KINDS`; kinds with 0 are left out. What is expected of the set follows.

    After a hatch, eggs left over may be opened and recorded too. client_key: a device's own key; the same key again
    returns the first lines and writes nothing. Raises BadInput at a kind, at day, or for the whole form.
    """
    with write(by, "candle eggs", role=Role.HELPER) as log:
        egg_set = lookup.get(EggSet, farm_id=by.farm_id, pk=egg_set_id)
        keys = {kind: f"{client_key}:{kind}" for kind in counts} if client_key else {}
        known = list(EggEntry.objects.filter(farm=log.farm, client_key__in=keys.values()))
        if known:
            return known
        _check(egg_set, counts, day, by.today)
        made = add_in(log, egg_set, counts, day, keys)
        egg_sets.follow(log, egg_set)
        log.says(egg_set, f"{egg_set}: {', '.join(line(each) for each in made)}")
    return made


def add_in(
    log: Log, egg_set: EggSet, counts: Mapping[str, int], day: date, keys: Mapping[str, str] | None = None
) -> list[EggEntry]:
    """Add a line for each kind of which there were any, inside an open write; the caller has checked them."""
    made = []
    for kind, eggs in counts.items():
        if eggs:
            entry = EggEntry(
                farm=log.farm,
                egg_set=egg_set,
                kind=kind,
                eggs=eggs,
                day=day,
                member=log.by.member,
                client_key=(keys or {}).get(kind, ""),
                created_at=log.by.now,
            )
            log.add(entry)
            made.append(entry)
    return made


def line(entry: EggEntry) -> str:
    """Return the line in words: "3 eggs clear (no germ)"."""
    text = ngettext("%(count)d egg %(kind)s", "%(count)d eggs %(kind)s", entry.eggs)
    return text % {"count": entry.eggs, "kind": EggKind(entry.kind).label}


def check_counts(egg_set: EggSet, counts: Mapping[str, int]) -> None:
    """Raise BadInput at a kind for numbers below 0 or for more eggs than are left; `counts` without those culled."""
    below = {kind: [_("Enter 0 or more.")] for kind, eggs in counts.items() if eggs < 0}
    if below:
        raise BadInput(below)
    left = hatching.left_of(egg_set)
    for kind, eggs in counts.items():
        if eggs > left:
            text = ngettext(
                "Of the %(eggs)d eggs only %(left)d is left for this. Enter no more.",
                "Of the %(eggs)d eggs only %(left)d are left for this. Enter no more.",
                left,
            )
            raise BadInput.at(kind, text % {"eggs": egg_set.eggs, "left": left})
        left -= eggs


def check_day(egg_set: EggSet, day: date, first: date, today: date) -> None:
    """Raise BadInput at day for one before `first` or still to come."""
    if day > today:
        raise BadInput.at("day", _("This day is still to come; record it when it has happened."))
    if day < first:
        text = _("%(set)s was set on %(set_on)s: the earliest day is %(first)s.")
        names = {
            "set": egg_set,
            "set_on": day_rules.shown(egg_set.set_on),
            "first": day_rules.shown(first),
        }
        raise BadInput.at("day", text % names)


def _check(egg_set: EggSet, counts: Mapping[str, int], day: date, today: date) -> None:
    if egg_set.state == EggSetState.CANCELLED:
        raise BadInput.at("", _("%(set)s was cancelled.") % {"set": egg_set})
    unknown = [kind for kind in counts if kind not in KINDS]
    if unknown:
        raise BadInput({kind: [_("Choose what was found.")] for kind in unknown})
    check_day(egg_set, day, egg_set.set_on, today)
    check_counts(egg_set, counts)
    if not any(counts.values()):
        raise BadInput.at("", _("Enter how many eggs of one kind you found."))
