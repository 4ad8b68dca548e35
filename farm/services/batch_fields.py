"""What must hold of a batch's own words and days, said in words at their fields when it does not."""

from __future__ import annotations

from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch
from farm.models.batch import BatchSource
from farm.services import counts, day_rules

_DAYS = ("hatch_day", "arrived_on", "leaves_on")

Problems = dict[str, list[object]]


def check_new(batch: Batch, birds: int, today: date) -> None:
    """Raise BadInput, all fields at once, for a batch about to be saved with its first `birds`."""
    problems: Problems = {name: day_rules.typo(getattr(batch, name), today) for name in _DAYS}
    if batch.arrived_on == batch.hatch_day:
        problems["arrived_on"] = []  # one slip is told once, where it was typed
    problems["name"] = _name(batch, batch.name)
    if not 1 <= birds <= counts.MOST_BIRDS:
        problems["birds"] = [_("Enter a number from 1 to %(most)d.") % {"most": counts.MOST_BIRDS}]
    _order(problems, batch.source, batch.hatch_day, batch.arrived_on, batch.leaves_on)
    _raise_any(problems)


def check_change(batch: Batch, fields: dict[str, Any], today: date) -> None:
    """Raise BadInput, all fields at once, for what was typed anew; days that stand already may be long ago."""
    now = {name: fields.get(name, getattr(batch, name)) for name in _DAYS}
    typed = {name: day for name, day in now.items() if day != getattr(batch, name)}
    problems: Problems = {name: day_rules.typo(day, today) for name, day in typed.items()}
    problems["name"] = _name(batch, fields.get("name", batch.name))
    _order(problems, fields.get("source", batch.source), **now)
    _raise_any(problems)


def check_expected(batch: Batch, fields: dict[str, Any]) -> None:
    """Raise BadInput for days of birds that are only expected: those follow their egg set or intake."""
    if not batch.expected:
        return
    if batch.source == BatchSource.OWN_HATCH:
        text = _(
            "These birds have yet to hatch. Change the day their eggs are set, on the page of the egg set."
        )
    else:
        text = _("These birds have yet to come. Change the day on the page of their intake.")
    names = ("hatch_day", "arrived_on", "source")
    moved = [name for name in names if fields.get(name, getattr(batch, name)) != getattr(batch, name)]
    _raise_any({name: [text] for name in moved})


def _name(batch: Batch, name: str) -> list[object]:
    if not name:
        return [_("Give the batch a name.")]
    others = Batch.objects.filter(farm_id=batch.farm_id, name=name).exclude(pk=batch.pk)
    return [_("Another batch already has this name.")] if others.exists() else []


def _order(
    problems: Problems, source: str, hatch_day: date, arrived_on: date, leaves_on: date | None
) -> None:
    """Add to `problems` what is wrong between the days of one batch; a day refused already is left at that."""
    if not problems.get("arrived_on") and arrived_on < hatch_day:
        problems["arrived_on"] = [_("Birds cannot arrive before they hatch.")]
    elif not problems.get("arrived_on") and source == BatchSource.OWN_HATCH and arrived_on != hatch_day:
        problems["arrived_on"] = [_("An own hatch arrives on its hatch day.")]
    if not problems.get("leaves_on") and leaves_on is not None and leaves_on <= arrived_on:
        problems["leaves_on"] = [_("The last day must be after the first.")]


def _raise_any(problems: Problems) -> None:
    found = {name: texts for name, texts in problems.items() if texts}
    if found:
        raise BadInput(found)
