"""A hatch is recorded: in one write the eggs, the end of the set, and the batch that is here now."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput
from farm.models import Batch, EggSet, Housing
from farm.models.egg_set import EggKind, EggSetState
from farm.models.member import Role
from farm.queries import hatching, lookup
from farm.services import counts, egg_entries, expected, machine_rules, stale
from farm.services.actor import Actor
from farm.services.writing import write

_FIELDS = {"arrived_on": "day", "hatch_day": "day", "birds": "hatched"}


def record(
    by: Actor,
    *,
    egg_set_id: int,
    day: date,
    hatched: int,
    culled: int = 0,
    pipped: int = 0,
    quitters: int = 0,
    clear: int = 0,
    housing_id: int | None = None,
    expected_version: int | None,
) -> Batch | None:
    """Record how an egg set hatched, culled chicks among the hatched. Returns its batch, None when nothing hatched.

    pipped, quitters, clear: found at the hatch, besides what candling showed. housing_id: where the chicks are, None
    for where they are planned. Planned stays move with the day. Raises BadInput at its fields, Stale; for a hatch
    already recorded, BadInput for the whole form.
    """
    with write(by, "record hatch", role=Role.HELPER) as log:
        egg_set = lookup.get(EggSet, farm_id=by.farm_id, pk=egg_set_id)
        machine_rules.is_open(egg_set)
        stale.check(egg_set, expected_version)
        housing = lookup.get_or_none(Housing, farm_id=by.farm_id, pk=housing_id)
        found = {"hatched": hatched, "pipped": pipped, "quitters": quitters, "clear": clear}
        _check(egg_set, day, found, culled, by.today)
        kinds = {"quitter" if name == "quitters" else name: eggs for name, eggs in found.items()}
        egg_entries.add_in(log, egg_set, kinds | {EggKind.CULLED: culled}, day)
        batch = egg_set.batch
        assert batch is not None, "an open egg set has its batch"
        log.change(egg_set, state=EggSetState.HATCHED, hatched_on=day, batch=batch if hatched else None)
        if not hatched:
            expected.drop(log, batch)
            log.says(egg_set, _("%(set)s: nothing hatched") % {"set": egg_set})
            return None
        with expected.named_as(_FIELDS):
            expected.confirm(
                log, batch, hatch_day=day, arrived_on=day, birds=hatched, culled=culled, housing=housing
            )
        text = ngettext(
            "%(set)s: %(birds)d chick hatched of %(eggs)d eggs",
            "%(set)s: %(birds)d chicks hatched of %(eggs)d eggs",
            hatched,
        )
        log.says(egg_set, text % {"set": egg_set, "birds": hatched, "eggs": egg_set.eggs})
    return batch


def _check(egg_set: EggSet, day: date, found: dict[str, int], culled: int, today: date) -> None:
    egg_entries.check_day(egg_set, day, hatching.dates_of(egg_set).hatch_first, today)
    egg_entries.check_counts(egg_set, found)
    if found["hatched"] > counts.MOST_BIRDS:
        raise BadInput.at("hatched", _("Enter a number from 1 to %(most)d.") % {"most": counts.MOST_BIRDS})
    if not 0 <= culled <= found["hatched"]:
        raise BadInput.at("culled", _("No more chicks can be culled than hatched."))
