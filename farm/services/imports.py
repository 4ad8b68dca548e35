"""Many rows at once, from a table: all of them are saved in one write, or none."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, TypeVar

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput, FarmError
from farm.models import Batch, Housing
from farm.models.member import Role
from farm.queries.outlook import Trial
from farm.services import batches, housings, trials
from farm.services.actor import Actor
from farm.services.batches import NewBatch
from farm.services.writing import Log, write

#: Project default (judgement): a write keeps others waiting. A batch is judged against all its neighbours, a housing
#: by itself, so fewer of them take as long.
MOST_HOUSINGS, MOST_BATCHES = 500, 200

Made = TypeVar("Made", Batch, Housing)
Row = TypeVar("Row")


@dataclass(frozen=True, slots=True)
class BatchRow:
    """A batch to start and the name of its first housing, "" for none yet."""

    new: NewBatch
    housing: str = ""


def add_housing(by: Actor, *, rows: Sequence[Mapping[str, Any]]) -> list[Housing]:
    """Add every housing of `rows` (fields as in `housings.add`) in one write, one history entry.

    Raises BadInput with fields like "3.area_m2": the row's place in `rows` from 0, then the field.
    """
    with write(by, "import housing", role=Role.KEEPER) as log:
        names = _Names(Housing.objects.filter(farm=log.farm).values_list("name", flat=True))
        _refuse_size(rows, MOST_HOUSINGS)

        def add(row: Mapping[str, Any]) -> Housing:
            names.take(str(row.get("name", "")), _("Another housing already has this name."))
            return housings.add_in(log, **row)

        made = _each(rows, add)
        count = len(made)
        log.says(
            None,
            ngettext("%(count)d housing imported", "%(count)d housings imported", count) % {"count": count},
        )
    return made


def start_batches(by: Actor, *, rows: Sequence[BatchRow]) -> list[Batch]:
    """Start every batch of `rows` with its birds and its first stay in one write, one history entry.

    Raises BadInput with fields like "3.hatch_day": the row's place in `rows` from 0, then the field of `NewBatch`, or
    "housing".
    """
    with write(by, "import batches", role=Role.KEEPER) as log:
        names = _Names(Batch.objects.filter(farm=log.farm).values_list("name", flat=True))
        places = _Places(log)
        _refuse_size(rows, MOST_BATCHES)

        def start(row: BatchRow) -> Batch:
            names.take(row.new.name, _("Another batch already has this name."))
            return batches.start_in(log, replace(row.new, housing_id=places.find(row.housing)))

        made = _each(rows, start)
        count = len(made)
        log.says(
            None,
            ngettext("%(count)d batch imported", "%(count)d batches imported", count) % {"count": count},
        )
    return made


def try_housing(by: Actor, *, rows: Sequence[Mapping[str, Any]]) -> Trial:
    """Return what `add_housing` would do to the plan; nothing is kept. Raises the same."""
    return trials.run(by, lambda: add_housing(by, rows=rows))


def try_batches(by: Actor, *, rows: Sequence[BatchRow]) -> Trial:
    """Return what `start_batches` would do to the plan; nothing is kept. Raises the same."""
    return trials.run(by, lambda: start_batches(by, rows=rows))


class _Names:
    """Names that are taken: on the farm, and further up in the same table."""

    def __init__(self, known: Sequence[str] | Any) -> None:
        self.known = set(known)
        self.above: set[str] = set()

    def take(self, name: str, text: str) -> None:
        name = name.strip()
        if name in self.above:
            raise BadInput.at("name", _("A row above already has this name."))
        self.above.add(name)
        if name in self.known:
            raise BadInput.at("name", text)


class _Places:
    """The farm's housing by name; by small letters too, where that is one housing's alone."""

    def __init__(self, log: Log) -> None:
        self.named = dict(Housing.objects.filter(farm=log.farm).values_list("name", "pk"))
        self.small: dict[str, list[int]] = {}
        for name, number in self.named.items():
            self.small.setdefault(name.casefold(), []).append(number)

    def find(self, name: str) -> int | None:
        """Return the number of the housing called `name`, None for no name. Raises BadInput."""
        name = name.strip()
        if not name:
            return None
        found = [self.named[name]] if name in self.named else self.small.get(name.casefold(), [])
        if len(found) > 1:
            raise BadInput.at(
                "housing", _("Several are called “%(name)s”. Mind the capital letters.") % {"name": name}
            )
        if not found:
            raise BadInput.at(
                "housing", _("There is no housing called “%(name)s”. Add it first.") % {"name": name}
            )
        return found[0]


def _refuse_size(rows: Sequence[object], most: int) -> None:
    if not rows:
        raise BadInput.at("", _("There are no rows to import."))
    if len(rows) > most:
        raise BadInput.at("", _("Import %(most)d rows at most at a time.") % {"most": most})


def _each(rows: Sequence[Row], make: Callable[[Row], Made]) -> list[Made]:
    """Make a record of every row; when some are refused, raise all their complaints at once."""
    made: list[Made] = []
    refused: dict[str, list[object]] = {}
    for index, row in enumerate(rows):
        try:
            with transaction.atomic():
                made.append(make(row))
        except BadInput as problem:
            for name, texts in problem.fields.items():
                refused.setdefault(f"{index}.{name}", []).extend(texts)
        except FarmError as problem:
            refused.setdefault(f"{index}.", []).append(problem.message)
    if refused:
        raise BadInput(refused)
    return made
