"""A farm's open orders, eggs, machines, suppliers and room as a backward plan is asked about them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from farm.husbandry import odds
from farm.models import Farm, HistoryEntry, OrderingRules, OrderLine, RearingProgramme, Supplier
from farm.planning import machines as eggs
from farm.planning import ordering as planning
from farm.planning.allotments import Wanted
from farm.planning.ordering import Need, OrderKind, PlannedRoom, Weights, horizon
from farm.planning.ordering.calendar import span
from farm.planning.problem import Arrival, Batch
from farm.queries import allotments, machine_loads, programmes, supplies
from farm.queries import planning as rows
from farm.queries.hatch_rates import FarmRates
from farm.queries.planned import new_batch
from farm.trade.eggs import egg_kind
from farm.trade.general import figure
from farm.trade.programme import Programme

#: Any number stands for a type; this many keeps the rounding of survivors small.
_BIRDS = 100
#: Lines looked at together, those first whose eggs must be set first: the others can wait. Project default (judgement).
MOST_LINES = 60
#: Proposals looked at beyond the first: about as many for all lines together, so that a page can wait for the answer.
#: Project default (judgement).
LOOKS, MOST_TRIES, LEAST_TRIES = 600, 60, 10


@dataclass(frozen=True)
class Question:
    """A need, and what is known besides. covered: open lines that are sure enough already. later: those left out.

    choices: by type, the programme its birds follow, as `programmes.choices` names it. entry: the newest line of
    history before anything was read. farm_version: likewise.
    """

    need: Need
    choices: Mapping[str, str]
    covered: int
    later: int
    entry: int
    farm_version: int


def question(farm: Farm, today: date) -> Question:
    """Return what the farm's confirmed orders still lack on a day. Lines are named by key, so that no name is kept.

    farm: as read just now; whatever is written from then on may be missing.
    """
    newest = HistoryEntry.objects.filter(farm=farm).order_by("-pk").values_list("pk", flat=True).first()
    found, asked = allotments.for_farm(farm, today), rules(farm)
    open_lines = [line for line in found.wanted.values() if line.to_on >= today]
    lacking = [
        replace(line, name=line.key)
        for line in sorted(open_lines, key=lambda line: (span(line)[1], line.rank))
        if found.allotment.lines[line.key].chance < asked.confidence - odds.ROUNDING
    ]
    lacking, later = lacking[:MOST_LINES], lacking[MOST_LINES:]
    chosen = _choices(lacking)
    followed = {kind: programmes.shown(farm.pk, choice).programme for kind, choice in chosen.items()}
    machines, loads = machine_loads.machine_records(farm)
    laws = {line.key: found.allotment.law(line.key) for line in lacking}
    need = Need(
        today=today,
        wanted=tuple(lacking),
        kinds=_kinds(farm, lacking, followed, machines),
        machines=machines,
        rooms=_room(farm, today, lacking, followed),
        loads=loads,
        suppliers=tuple(_suppliers(farm)),
        besides={key: law for key, law in laws.items() if odds.mean(law) > 0},
        set_weekdays=frozenset(asked.set_weekdays),
        hatch_weekdays=frozenset(asked.hatch_weekdays),
        confidence=asked.confidence,
        weights=Weights(asked.batch_cost, asked.spare_cost, asked.unmet_cost),
        tries=max(LEAST_TRIES, min(MOST_TRIES, LOOKS // max(len(lacking), 1))),
    )
    covered = len(open_lines) - len(lacking) - len(later)
    return Question(need, chosen, covered, len(later), newest or 0, farm.version)


def rules(farm: Farm) -> OrderingRules:
    """Return the farm's own rules for proposals, those it begins with where it has none yet; not saved then."""
    known = OrderingRules.objects.filter(farm=farm).first()
    return known or OrderingRules(farm=farm, confidence=figure("losses", "order_confidence"), version=0)


def _choices(lines: Iterable[Wanted]) -> dict[str, str]:
    """Return for each type the programme its lines name: the farm's own before a built-in one, then the most named."""
    named: dict[str, Counter[RearingProgramme]] = {}
    keys = [int(line.key) for line in lines]
    for row in OrderLine.objects.filter(pk__in=keys).select_related("programme"):
        named.setdefault(supplies.kind(row.programme), Counter())[row.programme] += 1
    found = {}
    for kind in sorted(named):
        counts = named[kind]
        best = max(counts, key=lambda row: (row.edited, counts[row], -row.pk))
        found[kind] = str(best.pk) if best.edited else best.built_in
    return found


def _kinds(
    farm: Farm,
    lines: Sequence[Wanted],
    followed: Mapping[str, Programme],
    machines: Sequence[eggs.Machine],
) -> dict[str, OrderKind]:
    rates = FarmRates(farm)
    found = {}
    for kind, programme in followed.items():
        size = egg_kind(programme.species).size
        months = {month for line in lines if line.type == kind for month in _months(line)}
        found[kind] = OrderKind(
            type=kind,
            name=programme.name,
            programme=programme,
            species=programme.species,
            size=size,
            # Of the months in which they could hatch, the worst: rather a few eggs too many.
            hatch=min((rates.stages(programme, 0, month) for month in sorted(months)), key=_chance),
            female_share=figure("sexing", "straight_run_female"),
            can_set=any(_takes(machine, programme.species, size) for machine in machines),
            arrives=rates.arrival(programme),
            prior_birds=None,  # losses as allotments take them
        )
    return found


def _months(line: Wanted) -> set[int]:
    first, last = span(line)
    return {(first + timedelta(days=at)).month for at in range(max((last - first).days, 0) + 1)}


def _chance(stages: Sequence[odds.Stage]) -> float:
    return stages[0].chance


def _takes(machine: eggs.Machine, species: str, size: str) -> bool:
    return bool(machine.capacity.get(size)) and (not machine.species or species in machine.species)


def _room(farm: Farm, today: date, lines: Sequence[Wanted], followed: Mapping[str, Programme]) -> PlannedRoom:
    read = rows.rows(farm)
    problem = rows.problem(farm, today, species={each.species for each in followed.values()}, read=read)
    types: list[Batch] = [
        new_batch(
            programme, key=kind, name=programme.name, birds=_BIRDS, arrival=Arrival(today), sky=read.sky
        )
        for kind, programme in followed.items()
    ]
    return PlannedRoom(problem, problem.adopted, types, days=horizon(problem, lines))


def _suppliers(farm: Farm) -> Iterator[planning.Supplier]:
    own = {str(row.pk): supplies.kind(row) for row in RearingProgramme.objects.filter(farm=farm, edited=True)}
    for row in Supplier.objects.filter(farm=farm):
        yield planning.Supplier(
            key=str(row.pk),
            name=row.name,
            types=frozenset(own.get(choice, choice) for choice in row.types),
            weekdays=frozenset(row.weekdays),
            minimum=row.minimum,
            lead_days=row.lead_days,
            sexed=row.sexed,
            age_days=row.hours_on_the_way // 24,  # as an intake reckons when they hatched
        )
