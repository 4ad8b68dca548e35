"""The rota of a farm: begun, changed and ended by its keepers, worked out anew whenever the farm changes."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from itertools import pairwise
from zoneinfo import ZoneInfo

from django.db import transaction
from django.db.models import F
from django.utils.translation import gettext as _

from farm import dispatch
from farm.errors import BadInput, NotFound
from farm.models import Assignment, Farm, RotaRules
from farm.models.member import ROUND_NAMES, Role
from farm.planning import rota as engine
from farm.planning.rota.records import Assigned, CellChange, Load, RotaProblem, Unfilled
from farm.queries import rota as rows
from farm.queries import rota_short
from farm.queries.rota_problem import Asked
from farm.services import locks, rota_rows, stale
from farm.services.actor import Actor, local_day
from farm.services.rota_giving import give, let_go
from farm.services.rota_rows import rota_changed
from farm.services.writing import write

__all__ = [
    "WhatIf",
    "change_rules",
    "closed_rounds",
    "give",
    "let_go",
    "refresh",
    "rota_changed",
    "start",
    "stop",
    "what_if",
]

#: Steps of a search in the background: project default (judgement)
STEPS = 40_000
#: Steps of a search somebody waits for on a page: project default (judgement)
PREVIEW_STEPS = 20_000
#: The rota in force stands until one is found that is better by more than this part of its cost: people have read it.
#: Project default (judgement)
CALM = 0.05
#: A rota is worked out again so many times when the farm changes meanwhile: project default (judgement)
TRIES = 2


@dataclass(frozen=True, slots=True)
class WhatIf:
    """What other days or people would do to the rota. people in changes and loads: members' numbers as text."""

    changes: tuple[CellChange, ...] = ()
    unfilled_before: tuple[Unfilled, ...] = ()
    unfilled_after: tuple[Unfilled, ...] = ()
    loads_before: tuple[Load, ...] = ()
    loads_after: tuple[Load, ...] = ()


def start(by: Actor, *, weeks: int = 4, fair_days: int = 42, missed_after: int = 90) -> RotaRules:
    """Begin a rota. Keepers only. Raises BadInput when the farm has one, or for numbers out of range."""
    with write(by, "start rota", role=Role.KEEPER) as log:
        if rows.rules(log.farm) is not None:
            raise BadInput.at("", _("This farm has a rota already."))
        rules = RotaRules(farm=log.farm, weeks=weeks, fair_days=fair_days, missed_after=missed_after)
        log.add(rules)
        log.says(rules, _("Rota started, %(weeks)d weeks ahead") % {"weeks": weeks})
    return rules


def change_rules(
    by: Actor,
    *,
    expected_version: int | None,
    weeks: int | None = None,
    fair_days: int | None = None,
    missed_after: int | None = None,
) -> RotaRules:
    """Change the rules of the rota; None leaves one as it is. Keepers only. Raises Stale, BadInput, NotFound."""
    asked = {"weeks": weeks, "fair_days": fair_days, "missed_after": missed_after}
    with write(by, "change rota", role=Role.KEEPER) as log:
        rules = _rules(log.farm)
        stale.check(rules, expected_version)
        log.change(rules, **{name: value for name, value in asked.items() if value is not None})
        log.says(rules, _("Rules of the rota changed"))
    return rules


def stop(by: Actor) -> None:
    """End the rota: from now on everybody sees what they may do. What was given out on past days stays as it is.

    Keepers only. Raises NotFound.
    """
    with write(by, "stop rota", role=Role.KEEPER) as log:
        rules = _rules(log.farm)
        log.says(rules, _("Rota ended"))
        log.remove(rules)
        Assignment.objects.filter(farm=log.farm, day__gte=by.today).delete()


def refresh(*, farm_id: int, now: datetime, polish_seconds: float = 0) -> int:
    """Work the rota out for the farm as it is now, and return how many cells others do than before.

    Nothing happens where there is no rota, or it is of this very farm and day. polish_seconds: how long an exact
    solver may look for a better one. Safe to run twice, and beside people who decide. Raises NotFound.
    """
    for _try in range(TRIES):
        farm = Farm.objects.filter(pk=farm_id).first()
        if farm is None:
            raise NotFound("farm")
        today, rules = local_day(farm, now), rows.rules(farm)
        if rules is None or rules.made_of == _made_of(farm.version, today):
            return 0
        asked = rows.asked(farm, today, closed=closed_rounds(farm, now))
        assigned = _solved(asked.problem, polish_seconds)  # takes a while: before the lock
        short = engine.unfilled(asked.problem, assigned)
        with transaction.atomic():
            if locks.farm(farm_id).version == farm.version:
                return _save(farm, asked, assigned, rota_short.to_json(short), now)
    dispatch.after_commit("refresh_rota", farm_id=farm_id)  # people are busy: later then
    return 0


def what_if(
    farm: Farm,
    today: date,
    *,
    aways: Sequence[tuple[int, date, date]] = (),
    leaving: Collection[int] = (),
    closed: Collection[str] = (),
) -> WhatIf:
    """Return what the rota would become if members were away (number, first day, back on), or left. Writes nothing.

    All empty where the farm has no rota. closed: rounds of today that are over. Takes up to a second.
    """
    before = rows.problem(farm, today, closed=closed)
    after = rows.without(before, aways=aways, leaving=leaving)
    answer = engine.solve(after, steps=PREVIEW_STEPS)
    return WhatIf(
        changes=tuple(engine.compare(before.previous, answer.assigned, before.jobs)),
        unfilled_before=tuple(engine.unfilled(before, before.previous)),
        unfilled_after=tuple(engine.unfilled(after, answer.assigned)),
        loads_before=tuple(engine.loads(before, before.previous)),
        loads_after=tuple(engine.loads(after, answer.assigned)),
    )


def closed_rounds(farm: Farm, now: datetime) -> frozenset[str]:
    """Return the rounds of today that are over: the next one has begun."""
    clock = now.astimezone(ZoneInfo(farm.time_zone)).time()
    begins = {"morning": farm.morning_at, "midday": farm.midday_at, "evening": farm.evening_at}
    return frozenset(name for name, following in pairwise(ROUND_NAMES) if begins[following] <= clock)


def _rules(farm: Farm) -> RotaRules:
    found = rows.rules(farm)
    if found is None:
        raise NotFound(_("This farm has no rota."))
    return found


def _made_of(version: int, today: date) -> str:
    return f"{version} {today.isoformat()}"


def _solved(problem: RotaProblem, polish_seconds: float) -> Assigned:
    """Return a rota; the one in force where none is found that is clearly better."""
    answer = engine.solve(problem, steps=STEPS)
    if polish_seconds and problem.jobs and problem.people:
        from farm.planning.exact.rota import polish  # loads the solver, which pages never need

        answer = polish(problem, answer, polish_seconds)
    standing = problem.previous
    if not engine.check(problem, standing):
        bill = engine.score(problem, standing)
        if bill.unfilled <= answer.bill.unfilled and bill.cost <= (1 + CALM) * answer.bill.cost:
            return standing
    return answer.assigned


def _save(
    farm: Farm, asked: Asked, assigned: Assigned, unfilled: list[dict[str, object]], now: datetime
) -> int:
    today, problem = local_day(farm, now), asked.problem
    version = farm.version
    changes = tuple(engine.compare(problem.previous, assigned, problem.jobs))
    known_until = Assignment.objects.filter(farm=farm).order_by("day").values_list("day", flat=True).last()
    if rota_rows.replace(farm, asked, assigned, today):
        version += 1
        Farm.objects.filter(pk=farm.pk).update(version=F("version") + 1)
        dispatch.after_commit("refresh_calendars", farm_id=farm.pk)
    RotaRules.objects.filter(farm=farm).update(made_of=_made_of(version, today), unfilled=unfilled)
    # Days given out for the first time are no change to anybody.
    news = [] if known_until is None else [each for each in changes if each.day <= known_until]
    rota_rows.tell(farm, news, now)
    return len(changes)
