"""Writing a plan into the farm's stays, inside an open write: every stay judged as if a keeper had typed it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date

from django.utils.translation import gettext as _

from farm.errors import BadInput, Stale
from farm.models import Batch, Housing, Stay
from farm.planning.problem import Problem
from farm.planning.solution import Solution
from farm.queries import heads
from farm.services import batch_rules, moves, plan_stays
from farm.services.plan_stays import Changes, Piece
from farm.services.writing import Log

_FAR = date.max


def write(log: Log, problem: Problem, solution: Solution, batches: Iterable[Batch]) -> list[Batch]:
    """Make the stays of `batches` those of the solution and return the batches changed.

    Nothing that has happened and no pin is touched. Raises Stale when the plan would have moved birds on days that
    have passed, BadInput when a stay breaks a rule.
    """
    plans = solution.by_batch
    found = [plan_stays.changes(row, problem, plans[str(row.pk)]) for row in batches if str(row.pk) in plans]
    changed = [each for each in found if each]
    _refuse_past(log, problem, changed)
    clipped = {each.batch.pk: heads.clipped(each.batch) for each in changed}
    for each in changed:
        for stay in each.removed:
            log.remove(stay)
    for stay, end in _by_shortening(changed):
        _end(log, stay, end)
    written = [_add(log, each.batch, piece) for each in changed for piece in each.added]
    written += [stay for each in changed for stay, _end_day in each.ends]
    for stay in written:
        with_batch = Stay.objects.select_related("batch__programme_version", "housing").get(pk=stay.pk)
        with _named(with_batch):
            batch_rules.check_stay(with_batch, log.by.today, clipped_before=clipped[stay.batch_id])
    return [each.batch for each in changed]


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


def _by_shortening(changed: Sequence[Changes]) -> list[tuple[Stay, date | None]]:
    """Return the new ends, those that make room before those that take it: the database judges each line."""
    ends = [pair for each in changed for pair in each.ends]
    return sorted(ends, key=lambda pair: (pair[1] or _FAR) > (pair[0].end or _FAR))


def _end(log: Log, stay: Stay, end: date | None) -> None:
    before = stay.end
    if (end or _FAR) > (before or _FAR):
        stay.end = end
        with _named(stay):
            moves.make_way(log, stay)
            batch_rules.check_place(stay, since=before)
        stay.end = before
    log.change(stay, end=end)


def _add(log: Log, batch: Batch, piece: Piece) -> Stay:
    housing = Housing.objects.get(farm=log.farm, pk=piece.housing)
    stay = Stay(
        farm=log.farm,
        batch=batch,
        housing=housing,
        birds=piece.birds,
        start=piece.start,
        end=piece.end,
        actual=piece.start <= log.by.today,
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
