"""Changes tried on a plan: put into the problem for a trial, and carried out in the records when it is adopted."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch, CountEntry, Housing
from farm.models.batch import BatchSource
from farm.models.count_entry import CountKind
from farm.phrase import N_, Phrase
from farm.planning import changes as tries
from farm.planning.changes import Change
from farm.planning.codec import ReadingError
from farm.planning.loads import leave_day
from farm.planning.problem import Problem
from farm.planning.solution import BatchPlan, Solution
from farm.queries import lookup, trial_rows
from farm.queries import planning as rows
from farm.services import batches, counts, egg_sets, housing_rules, housings, intakes
from farm.services.actor import Actor
from farm.services.writing import Log
from farm.wording import say

_COMING = (CountKind.ARRIVED, CountKind.HATCHED)


def tried(by: Actor, read: rows.Rows, changes: Sequence[Change]) -> Problem:
    """Return the farm's problem with the changes made on it. Raises BadInput at the field of a change."""
    new = [change.batch for change in changes if isinstance(change, tries.AddBatch)]
    taken = {row.name for row in read.batches}
    for batch in new:
        if not batch.name or batch.name in taken:
            raise BadInput.at("name", _("Give the batch a name that no other has."))
    days = [max(batch.arrival.days()) for batch in new]
    days += [change.day for change in changes if isinstance(change, tries.MoveArrival)]
    base = rows.problem(
        read.farm, by.today, read=read, species={batch.species for batch in new}, arrivals=days
    )
    try:
        return tries.apply_all(base, tuple(changes))
    except ReadingError as error:
        raise BadInput({path: [say(text)] for path, text in error.problems}) from error


def read_back(plain: Iterable[Mapping[str, Any]]) -> tuple[Change, ...]:
    """Return the changes a plan carries as JSON. Raises codec.ReadingError."""
    return tuple(tries.from_json(each) for each in plain)


def not_kept(changes: Iterable[Change]) -> list[Phrase]:
    """Return what adopting a plan does not record, for the keeper to remember: the records have no place for it."""
    found = []
    for change in changes:
        if isinstance(change, tries.LoseHousing) and change.end is not None:
            text = N_("That a housing is closed from %(start)s to %(end)s is planned for, but not kept")
            found.append(Phrase(text, {"start": change.start, "end": change.end}))
        if isinstance(change, tries.ChangeArea) and (change.start or change.end):
            found.append(Phrase(N_("Floor added or lost for some days is planned for, but not kept")))
        if isinstance(change, tries.ForbidHousing):
            text = N_("That a batch is kept out of a housing is planned for, but not kept: pin its stays")
            found.append(Phrase(text))
    return found


def carry_out(log: Log, changes: Sequence[Change], problem: Problem, solution: Solution) -> dict[str, str]:
    """Write what was tried into batches and housings, all but what must wait until birds have other stays.

    Returns the numbers, as text, of what is new, by key. Raises BadInput.
    """
    names: dict[str, str] = {}
    for housing in problem.housings:
        if trial_rows.is_new(housing.key):
            made = housings.add_in(log, **trial_rows.housing_fields(housing))
            names[housing.key] = str(made.pk)
    for change in changes:
        if isinstance(change, tries.DropBatch) and not trial_rows.is_new(change.batch):
            _cancel(log, change.batch)
    _change_housings(log, changes, problem)
    touched = {
        change.batch
        for change in changes
        if isinstance(change, tries.MoveArrival | tries.ChangeBirds | tries.LeaveEarly)
    }
    for batch in problem.batches:
        plan = solution.by_batch[batch.key]
        if trial_rows.is_new(batch.key):
            names[batch.key] = str(_start(log, problem, plan).pk)
        elif batch.key in touched:
            _change_batch(log, problem, plan)
    return names


def close(log: Log, changes: Iterable[Change]) -> None:
    """Take lost housings out of use, now that nobody is planned into them. Raises BadInput."""
    for change in changes:
        if isinstance(change, tries.LoseHousing) and change.end is None:
            housing = lookup.get(Housing, farm_id=log.farm.pk, pk=change.housing)
            log.change(housing, in_service_to=change.start)
            for stay in housing.stays.select_related("batch__programme_version"):
                stay.housing = housing
                housing_rules.check_still_possible(stay, log.by.today, moved={"in_service_to"})


def renamed(problem: Problem, solution: Solution, names: Mapping[str, str]) -> tuple[Problem, Solution]:
    """Return both with other keys for the things in `names`."""

    def name(key: str) -> str:
        return names.get(key, key)

    def plan(one: BatchPlan) -> BatchPlan:
        parts = tuple(
            replace(
                part,
                stays=tuple(
                    replace(stay, housing=None if stay.housing is None else name(stay.housing))
                    for stay in part.stays
                ),
            )
            for part in one.parts
        )
        return replace(one, batch=name(one.batch), parts=parts)

    return (
        replace(
            problem,
            housings=tuple(replace(each, key=name(each.key)) for each in problem.housings),
            batches=tuple(replace(each, key=name(each.key)) for each in problem.batches),
            pins=tuple(
                replace(each, batch=name(each.batch), housing=name(each.housing)) for each in problem.pins
            ),
        ),
        replace(solution, plans=tuple(plan(one) for one in solution.plans)),
    )


def _start(log: Log, problem: Problem, plan: BatchPlan) -> Batch:
    asked = next(batch for batch in problem.batches if batch.key == plan.batch)
    return batches.start_in(
        log,
        batches.NewBatch(
            name=asked.name,
            programme=trial_rows.choice_of(asked.key),
            hatch_day=plan.arrival - timedelta(days=asked.age_at_arrival_days),
            birds=asked.birds,
            arrived_on=plan.arrival,
            leaves_on=leave_day(asked, plan.arrival),
        ),
    )


def _change_batch(log: Log, problem: Problem, plan: BatchPlan) -> None:
    asked = next(batch for batch in problem.batches if batch.key == plan.batch)
    row = lookup.get(Batch, farm_id=log.farm.pk, pk=plan.batch)
    if row.expected:
        _change_expected(log, row, plan.arrival - row.arrived_on, asked.birds)
        batches.change_in(log, row, leaves_on=leave_day(asked, plan.arrival))
        return
    if row.arrived_on > log.by.today:
        age = row.arrived_on - row.hatch_day
        batches.change_in(log, row, hatch_day=plan.arrival - age, arrived_on=plan.arrival)
    here = sum(line.birds for line in row.count_entries.all())
    if here != asked.birds:
        if row.arrived_on <= log.by.today:
            text = _("%(batch)s is here already: record which birds left, then plan again.")
            raise BadInput.at("", text % {"batch": row})
        _recount(log, row, asked.birds)
    batches.change_in(log, row, leaves_on=leave_day(asked, plan.arrival))


def _change_expected(log: Log, row: Batch, later: timedelta, birds: int) -> None:
    """Move the egg set or intake that birds are expected of; how many come follows from it alone."""
    if birds != sum(line.birds for line in row.count_entries.all()):
        text = _(
            "How many of %(batch)s come follows from their eggs or their intake. Change it there, plan again."
        )
        raise BadInput.at("", text % {"batch": row})
    if later and row.source == BatchSource.OWN_HATCH:
        egg_sets.change_in(log, row.egg_set, later_stays=False, set_at=row.egg_set.set_at + later)
    elif later:
        intakes.change_in(log, row.intake, later_stays=False, due_on=row.intake.due_on + later)
    row.refresh_from_db()


def _recount(log: Log, row: Batch, birds: int) -> None:
    """Expect another number of birds: the line of their arrival is taken back for another."""
    came = _arrivals(row)
    kind = row.count_entries.filter(kind__in=_COMING).earliest("pk").kind
    counts.add_in(log, row, kind=kind, birds=birds, day=row.arrived_on)
    for line in came:
        counts.reverse_in(log, line)


def _cancel(log: Log, key: str) -> None:
    """Expect a batch no more: its birds and its planned stays go, its name stays in the history."""
    row = lookup.get(Batch, farm_id=log.farm.pk, pk=key)
    if row.expected and row.source == BatchSource.OWN_HATCH:
        egg_sets.cancel_in(log, row.egg_set)
        return
    if row.expected:
        intakes.cancel_in(log, row.intake)
        return
    for stay in row.stays.all():
        log.remove(stay)
    for line in _arrivals(row):
        counts.reverse_in(log, line)


def _arrivals(row: Batch) -> list[CountEntry]:
    """Return the lines that bring a batch its birds now: an arrival, or one taken back and then brought back."""
    return list(row.count_entries.filter(birds__gt=0, reversed_by__isnull=True))


def _change_housings(log: Log, changes: Sequence[Change], problem: Problem) -> None:
    """Record floor and rest days changed for good."""
    planned = {housing.key: housing for housing in problem.housings}
    for change in changes:
        if not isinstance(change, tries.ChangeArea | tries.WaiveRest) or trial_rows.is_new(change.housing):
            continue
        row = lookup.get(Housing, farm_id=log.farm.pk, pk=change.housing)
        if isinstance(change, tries.WaiveRest):
            log.change(row, rest_days=planned[change.housing].rest_days)
        elif change.start is None and change.end is None:
            log.change(row, area_m2=change.area_dm2 / 100)
