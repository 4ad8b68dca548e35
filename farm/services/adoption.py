"""Writing a plan into the farm's records, inside an open write: every stay judged as if a keeper had typed it.

Planned stays that give way go first, then what was tried is carried out, then the new stays are written: so no rule is
broken on the way that would not be broken in the end.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date

from django.utils.translation import gettext as _

from farm.errors import BadInput, Stale
from farm.models import Batch, Housing, Stay
from farm.planning.changes import Change, DropPins
from farm.planning.problem import Problem
from farm.planning.solution import Solution
from farm.queries import heads
from farm.queries import planning as rows
from farm.services import batch_rules, moves, plan_changes, plan_stays
from farm.services.plan_stays import Changes, Piece
from farm.services.writing import Log

_FAR = date.max


def write(log: Log, problem: Problem, solution: Solution, changes: Sequence[Change] = ()) -> list[str]:
    """Carry the changes out, make the farm's stays those of the solution, and return the names of batches changed.

    Nothing that has happened and no pin is touched. Raises Stale when the plan would have moved birds on days that
    have passed, BadInput when a stay or a change breaks a rule.
    """
    loose = {change.batch for change in changes if isinstance(change, DropPins)}
    found = list(_differences(rows.rows(log.farm).batches, problem, solution, loose))
    _refuse_past(log, problem, found)
    clipped = {each.batch.pk: heads.clipped(each.batch) for each in found}
    for each in found:
        for stay in each.removed:
            log.remove(stay)
    made = plan_changes.carry_out(log, changes, problem, solution)
    problem, solution = plan_changes.renamed(problem, solution, made)
    for each in found:
        each.added = [replace(one, housing=made.get(one.housing, one.housing)) for one in each.added]
    new = Batch.objects.filter(farm=log.farm, pk__in=[int(key) for key in made.values()])
    found += _differences([row for row in new if str(row.pk) in solution.by_batch], problem, solution, loose)
    _write_stays(log, found, clipped)
    plan_changes.close(log, changes)
    return [each.batch.name for each in found]


def _differences(
    batches: Iterable[Batch], problem: Problem, solution: Solution, loose: Collection[str]
) -> Iterator[Changes]:
    for row in batches:
        key = str(row.pk)
        if key in solution.by_batch:
            found = plan_stays.changes(row, problem, solution.by_batch[key], loose=key in loose)
            if found:
                yield found


def _write_stays(log: Log, found: Sequence[Changes], clipped: Mapping[int, Mapping[int, int]]) -> None:
    """Write new ends, those that make room before those that take it, then what is new; then judge the birds."""
    ends = [each for changes in found for each in changes.ends]
    for stay, end, pinned in sorted(ends, key=lambda one: (one[1] or _FAR) > (one[0].end or _FAR)):
        _end(log, stay, end, pinned)
    written = [stay.pk for stay, _day, _pinned in ends]
    written += [_add(log, changes.batch.pk, piece).pk for changes in found for piece in changes.added]
    for pk in written:
        stay = Stay.objects.select_related("batch__programme_version", "housing").get(pk=pk)
        with _named(stay):
            batch_rules.check_stay(stay, log.by.today, clipped_before=clipped.get(stay.batch_id, {}))


def _refuse_past(log: Log, problem: Problem, changed: Sequence[Changes]) -> None:
    """A plan made on an earlier day may hold moves that were not made: it says where birds are not."""
    first = min((each.first_day() for each in changed), default=_FAR)
    if problem.start < log.by.today and first <= log.by.today:
        raise Stale(
            _(
                "Days have passed since this plan was made, and it moves birds on one of them. Work it out again."
            ),
            changes=[],
        )


def _end(log: Log, stay: Stay, end: date | None, pinned: bool) -> None:
    before = stay.end
    if (end or _FAR) > (before or _FAR):
        stay.end = end
        with _named(stay):
            moves.make_way(log, stay)
            batch_rules.check_place(stay, since=before)
        stay.end = before
    log.change(stay, end=end, pinned=pinned)


def _add(log: Log, batch_id: int, piece: Piece) -> Stay:
    housing = Housing.objects.get(farm=log.farm, pk=piece.housing)
    batch = Batch.objects.select_related("programme_version").get(pk=batch_id)
    stay = Stay(
        farm=log.farm,
        batch=batch,
        housing=housing,
        birds=piece.birds,
        start=piece.start,
        end=piece.end,
        pinned=piece.pinned,
        actual=batch_rules.has_begun(batch, piece.start, log.by.today),
        one_batch=housing.one_batch,
    )
    with _named(stay):
        moves.make_way(log, stay)
        batch_rules.check_place(stay)
    log.add(stay)
    return stay


class _named:
    """Says which batch a refusal is about: on the form of a plan there are no fields of a stay."""

    def __init__(self, stay: Stay) -> None:
        self.stay = stay

    def __enter__(self) -> None:
        """Begin."""

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        """Turn a refusal at a stay's field into one of the whole plan."""
        if isinstance(error, BadInput):
            texts = [f"{self.stay.batch}: {text}" for found in error.fields.values() for text in found]
            raise BadInput({"": texts}) from error
