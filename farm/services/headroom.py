"""Working out how many more birds of a type could come, for every day ahead: first exactly with nobody else moved,
then day by day with others planned anew. Each part is safe to run twice, and by two workers at once."""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from datetime import date, datetime, timedelta

from django.db import transaction
from django.db.models import Q, QuerySet

from farm.errors import NotFound
from farm.models import Farm, Headroom
from farm.planning import headroom, score
from farm.planning.problem import Batch, Problem
from farm.planning.solution import Solution
from farm.queries import headroom as tables
from farm.queries import planning as rows
from farm.services import locks
from farm.services.actor import local_day

#: By type, when each day's arrivals may live outdoors; empty where the farm has no climate.
Held = Mapping[str, Sequence[date | None]]
#: Days planned anew in one go: a worker is free for other farms after that.
CELLS = 12
#: Whoever took a day and has not answered for so long is gone.
COLD = timedelta(minutes=2)


def refresh(*, farm_id: int, now: datetime) -> int:
    """Work the table out for the farm as it is now, nobody else moving, and return how many cells were written.

    None when it is of this very farm and day already. What was planned anew for another state of the farm is dropped.
    Raises NotFound.
    """
    farm = _farm(farm_id)
    problem, types, held = _asked(farm, local_day(farm, now))
    digest = _digest(problem, held)
    known = Headroom.objects.filter(farm=farm, day=problem.start, problem_digest=digest)
    if set(known.values_list("type", flat=True)) == {each.key for each in types}:
        Headroom.objects.filter(farm=farm).update(farm_version=farm.version)
        return 0
    cells = list(_fixed(farm, problem, types, held))
    with transaction.atomic():
        locks.farm(farm_id)
        Headroom.objects.filter(farm=farm).delete()
        Headroom.objects.bulk_create(cells, batch_size=500)
    return len(cells)


def refine(*, farm_id: int, now: Callable[[], datetime], cells: int = CELLS) -> int:
    """Plan others anew for up to `cells` of the days that wait for it, and return how many days still wait.

    Returns 0 when it could do none: others are at them. Stops when the farm changes meanwhile: the next refresh begins
    anew. Raises NotFound.
    """
    farm = _farm(farm_id)
    today = local_day(farm, now())
    problem, types, held = _asked(farm, today)
    digest = _digest(problem, held)
    by_key = {each.key: each for each in types}
    solution = _standing(problem)
    done = 0
    while done < cells:
        cell = _take(farm_id, digest, today, now())
        if cell is None or cell.type not in by_key:
            break
        kind = by_key[cell.type]
        if held:
            kind = replace(kind, outdoors_from=held[kind.key][(cell.day - today).days])
        kept = headroom.replanned(problem, solution, kind, cell.day)
        birds = max(kept.birds, cell.birds)
        plan = None if kept.solution is None or kept.birds < cell.birds else kept.solution.to_json()
        mine = Headroom.objects.filter(pk=cell.pk, problem_digest=digest)
        if not mine.update(replanned_birds=birds, plan=plan, taken_at=None):
            break
        done += 1
    return _waiting(farm_id, digest, today).count() if done else 0


def _farm(farm_id: int) -> Farm:
    found = Farm.objects.filter(pk=farm_id).first()
    if found is None:
        raise NotFound("farm")
    return found


def _asked(farm: Farm, today: date) -> tuple[Problem, tuple[Batch, ...], Held]:
    read = rows.rows(farm)
    return rows.problem(farm, today, read=read), tables.types(read, today), tables.held_types(read, today)


def _digest(problem: Problem, held: Held) -> str:
    """Return what the table is of: the problem, and when arrivals may live outdoors."""
    if not held:
        return problem.digest
    days = "".join(f"{key}{[day and day.isoformat() for day in held[key]]}" for key in sorted(held))
    return hashlib.sha256(f"{problem.digest}{days}".encode()).hexdigest()


def _standing(problem: Problem) -> Solution:
    """Return what is planned now as a solution to stand on."""
    return Solution(problem.digest, problem.adopted, score.bill(problem, problem.adopted).total, 0)


def _fixed(farm: Farm, problem: Problem, types: tuple[Batch, ...], held: Held) -> Iterator[Headroom]:
    if not problem.housings or not types:
        return
    digest = _digest(problem, held)
    found = headroom.fixed(problem, _standing(problem), types, days=tables.DAYS, held=held)
    for place, kind in enumerate(types):
        for offset in range(tables.DAYS):
            cell = found.cell(place, offset)
            yield Headroom(
                farm=farm,
                type=kind.key,
                day=cell.arrival,
                birds=cell.birds,
                binding=cell.housing.key,
                binding_day=cell.day,
                problem_digest=digest,
                farm_version=farm.version,
            )


def _waiting(farm_id: int, digest: str, today: date) -> QuerySet[Headroom]:
    days = [today + timedelta(days=offset) for offset in range(tables.REPLANNED_DAYS)]
    return Headroom.objects.filter(
        farm_id=farm_id,
        problem_digest=digest,
        replanned_birds=None,
        day__in=[day for day in days if tables.is_replanned_day(day, today)],
    )


def _take(farm_id: int, digest: str, today: date, at: datetime) -> Headroom | None:
    """Return the next day nobody works on, taken; None when there is none."""
    free = Q(taken_at=None) | Q(taken_at__lt=at - COLD)
    for cell in _waiting(farm_id, digest, today).filter(free).order_by("day", "type")[:5]:
        if Headroom.objects.filter(free, pk=cell.pk, replanned_birds=None).update(taken_at=at):
            return cell
    return None
