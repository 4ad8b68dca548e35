"""What must hold of a batch's ledger and stays, said in words when it does not."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch, Stay
from farm.models.batch import BatchSource
from farm.queries import heads, tally
from farm.services import day_rules
from farm.services.stay_rules import (
    check_birds,
    check_fields,
    check_heat,
    check_neighbours,
    check_outdoors,
    check_service,
    check_species,
)

__all__ = [
    "check_fields",
    "check_heat",
    "check_ledger",
    "check_neighbours",
    "check_outdoors",
    "check_place",
    "check_service",
    "check_species",
    "check_stay",
    "check_typed",
    "check_untouched",
    "has_begun",
    "refuse_expected",
]


def check_ledger(batch: Batch, field: str = "", adding: tuple[date, int] | None = None) -> None:
    """Raise BadInput at `field` when the batch would have fewer than no birds on any day.

    adding: a line about to be written; judged first, because the database refuses it without a word to the keeper.
    """
    low = heads.first_day_below_zero(batch, adding)
    if low is not None:
        day, short = low
        alive = heads.alive_on(batch, day) + (0 if adding else short)
        raise BadInput.at(
            field,
            _("That is %(short)d more than were alive: %(alive)d on %(day)s.")
            % {"short": short, "alive": max(alive, 0), "day": day_rules.shown(day)},
        )


def refuse_expected(batch: Batch) -> None:
    """Raise BadInput for what can only be done with birds that are here."""
    if batch.expected:
        own = batch.source == BatchSource.OWN_HATCH
        raise BadInput.at("", _("Record the hatch first.") if own else _("Record the arrival first."))


def check_untouched(batch: Batch) -> None:
    """Raise BadInput when birds that are only expected, maybe again after an undo, have been counted or moved."""
    if not batch.expected:
        return
    standing = tally.standing(list(batch.count_entries.all()))
    if len(standing) > 1 or any(line.birds < 0 for line in standing):
        text = _("Birds of %(batch)s have been counted since. Take that back first.")
        raise BadInput.at("", text % {"batch": batch})


def has_begun(batch: Batch, start: date, today: date) -> bool:
    """Say whether a stay from `start` counts as happened: birds that are only expected are nowhere yet."""
    return start <= today and not batch.expected


def check_typed(today: date, **days: date | None) -> None:
    """Raise BadInput at the fields of days that somebody just typed and that are too far away to be meant.

    Days that stand in the records already are not judged: hens may have moved in years ago.
    """
    problems = {name: day_rules.typo(day, today) for name, day in days.items()}
    found = {name: texts for name, texts in problems.items() if texts}
    if found:
        raise BadInput(found)


def check_place(stay: Stay, since: date | None = None, *, typed: bool = True) -> None:
    """Raise BadInput for a stay, saved or not, that breaks a rule with its batch, housing or neighbours.

    Asked before saving too, because the database refuses a shared one-batch housing without a word to the keeper.
    since: days before it are not judged; None judges all. typed: somebody wrote it just now; what only comes back is
    not judged by the weather, which changes by itself.
    """
    check_fields(stay)
    check_species(stay, since)
    check_service(stay, since)
    check_heat(stay, since)
    if since is None and typed:
        check_outdoors(stay)
    check_neighbours(stay, since)


def check_stay(stay: Stay, today: date, *, clipped_before: Mapping[int, int] | None) -> None:
    """Raise BadInput for a saved stay that breaks a rule.

    clipped_before: birds each stay of the batch lacked before this write (`heads.clipped`); a stay may not make that
    worse, so losses that shrank a later planned stay never block another edit. None: the stay itself was not edited,
    only its batch or housing; then its past and its numbers are not judged.
    """
    if clipped_before is None:
        check_place(stay, since=today)
    else:
        check_birds(stay, clipped_before)
