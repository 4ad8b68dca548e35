"""The keeper's own chores: made up, changed, ended, removed."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import Any

from django.utils.translation import gettext as _

from farm import wording
from farm.errors import BadInput
from farm.models import ChoreMark, Farm, Housing, OwnChore, Postponement
from farm.models.member import Role
from farm.models.own_chore import Who
from farm.planning import repeats
from farm.planning.agenda import own_chores as agenda_chores
from farm.planning.repeats import RepeatError
from farm.queries import lookup, own_chores
from farm.services import stale
from farm.services.actor import Actor
from farm.services.writing import Log, write

MOST_CHORES = 200  # of a farm that have not ended; project default (judgement)
MOST_EXCEPTIONS = 20  # days a chore is left out on; project default (judgement)
#: What says when a chore is due.
_WHEN = ("start", "repeat", "exceptions", "round")
FARTHEST_DAYS = 3660  # how far away a first day may be; project default (judgement)


def add(by: Actor, **fields: Any) -> OwnChore:
    """Add a chore. `fields` are the model's; housing_id for the housing, exceptions as days, repeat as a recurrence
    rule ("" for once). Raises BadInput by field.
    """
    with write(by, "add own chore", role=Role.KEEPER) as log:
        if OwnChore.objects.filter(farm=log.farm, ended_on__isnull=True).count() >= MOST_CHORES:
            raise BadInput.at("", _("There are %d chores already. End one that is over.") % MOST_CHORES)
        chore = OwnChore(farm=log.farm, begun_on=by.today, **_stored(log.farm, fields))
        _check(chore, by.today)
        log.add(chore)
        log.says(chore, _("Chore “%(chore)s” added") % {"chore": chore})
    return chore


def change(by: Actor, *, chore_id: int, expected_version: int | None, **fields: Any) -> OwnChore:
    """Change a chore and return it. Raises Stale, BadInput.

    Other days or another round would leave what was ticked without its chore: then the old one ends and a new one,
    which is returned, begins.
    """
    with write(by, "change own chore", role=Role.KEEPER) as log:
        chore = lookup.get(OwnChore, farm_id=by.farm_id, pk=chore_id)
        if chore.ended_on is not None and chore.ended_on <= by.today:
            raise BadInput.at("", _("This chore has ended. Add it anew."))
        stale.check(chore, expected_version)
        stored = _stored(log.farm, _typed(chore) | fields)
        moved = any(getattr(chore, name) != stored[name] for name in _WHEN)
        marks = ChoreMark.objects.filter(farm=log.farm, source=own_chores.source(chore.pk))
        if moved and marks.exists():
            begins = by.today + timedelta(days=marks.filter(due=by.today).exists())
            _end(log, chore, begins)
            chore = OwnChore(farm=log.farm, begun_on=begins, **stored)
            _check(chore, by.today)
            log.add(chore)
        else:
            _check(OwnChore(pk=chore.pk, farm=log.farm, begun_on=chore.begun_on, **stored), by.today)
            log.change(chore, **stored)
        log.says(chore, _("Chore “%(chore)s” changed") % {"chore": chore})
    return chore


def end(by: Actor, *, chore_id: int) -> OwnChore:
    """End a chore from today on: it is due no more, and what was ticked stays."""
    with write(by, "end own chore", role=Role.KEEPER) as log:
        chore = lookup.get(OwnChore, farm_id=by.farm_id, pk=chore_id)
        if chore.ended_on is None:
            _end(log, chore, by.today)
            log.says(chore, _("Chore “%(chore)s” ended") % {"chore": chore})
    return chore


def remove(by: Actor, *, chore_id: int, expected_version: int | None = None) -> None:
    """Remove a chore of which nothing was ever ticked. Raises BadInput otherwise: end it instead; Stale."""
    with write(by, "remove own chore", role=Role.KEEPER) as log:
        chore = lookup.get(OwnChore, farm_id=by.farm_id, pk=chore_id)
        stale.check(chore, expected_version)
        if own_chores.ticked(chore):
            raise BadInput.at("", _("It was ticked before, so it stays in the records. End it instead."))
        log.says(chore, _("Chore “%(chore)s” removed") % {"chore": chore})
        log.remove(chore)


def _end(log: Log, chore: OwnChore, day: date) -> None:
    """End a chore on `day`; what was put off to then or later is not asked any more either."""
    log.change(chore, ended_on=day)
    source = own_chores.source(chore.pk)
    for row in Postponement.objects.filter(farm=log.farm, source=source, to_due__gte=day):
        log.remove(row)


def _typed(chore: OwnChore) -> dict[str, Any]:
    """Return a chore's fields as `add` takes them."""
    names = [
        field.name for field in OwnChore._meta.concrete_fields if field.editable and not field.is_relation
    ]
    found = {name: getattr(chore, name) for name in names if name not in ("id", "version")}
    return found | {"housing_id": chore.housing_id, "exceptions": own_chores.exceptions(chore)}


def _stored(farm: Farm, fields: Mapping[str, Any]) -> dict[str, Any]:
    """Return the fields as the model keeps them."""
    stored = dict(fields)
    stored["title"] = stored["title"].strip()
    housing = lookup.get_or_none(Housing, farm_id=farm.pk, pk=stored.pop("housing_id", None))
    stored["housing"] = housing
    stored["place"] = "" if housing else stored.get("place", "").strip()
    stored["exceptions"] = sorted({day.isoformat() for day in stored.get("exceptions", ())})
    stored["checklist"] = [line.strip() for line in stored.get("checklist", ()) if line.strip()]
    stored["needs"] = sorted(set(stored.get("needs", ())))
    try:
        repeat = stored.get("repeat", "").strip()
        stored["repeat"] = repeats.write(repeats.parse(repeat)) if repeat else ""
    except RepeatError as wrong:
        raise BadInput.at("repeat", wording.say(wrong.phrase, farm.units)) from wrong
    return stored


def _check(chore: OwnChore, today: date) -> None:
    """Raise BadInput, all fields at once, for what a chore cannot be."""
    problems: dict[str, list[object]] = {}
    if not chore.title:
        problems["title"] = [_("Write what is to be done.")]
    if abs((chore.start - today).days) > FARTHEST_DAYS:
        problems["start"] = [_("This day is too far away.")]
    elif chore.repeat:
        repeat = repeats.parse(chore.repeat)
        if repeat.until is not None and repeat.until < chore.start:
            problems["until"] = [_("The last day comes before the first.")]
        elif not own_chores.has_any(chore):
            problems["start"] = [_("By this rule it would never be due.")]
    elif not own_chores.has_any(chore):
        problems["start"] = [_("This day is over.")]
    if len(chore.exceptions) > MOST_EXCEPTIONS:
        problems["exceptions"] = [_("At most %d days can be left out.") % MOST_EXCEPTIONS]
    least = agenda_chores.least(chore.who, frozenset(chore.needs))
    if least != chore.who:
        text = _(
            "What it needs makes it work for %(who)s: heat equipment, medicine and slaughter are not for others."
        )
        problems["who"] = [text % {"who": Who(least).label}]
    if problems:
        raise BadInput(problems)
