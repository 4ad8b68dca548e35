"""The rows a plan is about, and those that a trial only thinks of: not saved, without a number.

What is only thought of has a key of its own: `new:<programme>:<n>` for a batch, `new::<n>` for a housing.
"""

from __future__ import annotations

from datetime import date, timedelta

from farm.models import Batch, Farm, Housing, Plan, ProgrammeVersion, RearingProgramme
from farm.planning import problem as planning
from farm.planning.problem import Arrival, Problem
from farm.queries import lookup, programmes, weather
from farm.queries.planned import new_batch
from farm.trade import load
from farm.trade.programme import Programme

_NEW = "new"


def batch_to_add(
    farm: Farm,
    choice: str,
    *,
    name: str,
    birds: int,
    arrives: date,
    age_days: int = 0,
    leaves: date | None = None,
    number: int = 1,
) -> planning.Batch:
    """Return a batch to try, following what `programmes.choices` calls `choice`; `number` tells several apart.

    age_days: of the birds on the day they arrive. Raises NotFound.
    """
    return new_batch(
        _programme(farm.pk, choice)[0],
        key=batch_key(choice, number),
        name=name.strip(),
        birds=birds,
        arrival=Arrival(arrives),
        age_days=age_days,
        leaves=leaves,
        sky=weather.of(farm),
    )


def batch_key(choice: str, number: int = 1) -> str:
    """Return the key of a batch to try; `number` tells several apart."""
    return f"{_NEW}:{choice}:{number}"


def housing_key(number: int = 1) -> str:
    """Return the key of a housing to try; `number` tells several apart."""
    return f"{_NEW}::{number}"


def is_new(key: str) -> bool:
    """Say whether a key is of something only thought of."""
    return not key.isdigit()


def choice_of(key: str) -> str:
    """Return the programme that a batch only thought of follows."""
    return key.split(":")[1]


def of(plan: Plan, problem: Problem) -> tuple[dict[str, Housing], dict[str, Batch]]:
    """Return the housings and batches of a plan by key."""
    housings = {str(row.pk): row for row in Housing.objects.filter(farm_id=plan.farm_id)}
    rows = Batch.objects.filter(farm_id=plan.farm_id).select_related("programme_version")
    batches = {str(row.pk): row for row in rows}
    return (
        {each.key: housings.get(each.key) or _housing(plan, each) for each in problem.housings},
        {each.key: batches.get(each.key) or _batch(plan, each) for each in problem.batches},
    )


def housing_fields(asked: planning.Housing) -> dict[str, object]:
    """Return a housing of the planner as the fields of its row."""
    return {
        "name": asked.name,
        "kind": asked.kind,
        "area_m2": asked.area_dm2 / 100,
        "feeder_cm": asked.feeder_mm / 10,
        "drinker_cm": asked.drinker_mm / 10,
        "heated": asked.heated,
        "indoor": asked.indoor,
        "one_batch": asked.one_batch,
        "max_age_gap_days": 60 if asked.max_age_gap_days is None else asked.max_age_gap_days,
        "rest_days": asked.rest_days,
        "species": sorted(asked.species),
        "in_service_from": asked.in_service_from,
        "in_service_to": asked.in_service_to,
    }


def _housing(plan: Plan, asked: planning.Housing) -> Housing:
    return Housing(farm_id=plan.farm_id, **housing_fields(asked))


def _batch(plan: Plan, asked: planning.Batch) -> Batch:
    arrives = asked.arrival.day
    found = plan.solution and next((one for one in plan.solution["plans"] if one["batch"] == asked.key), None)
    if found:
        arrives = date.fromisoformat(found["arrival"])
    programme, version = _programme(plan.farm_id, choice_of(asked.key))
    return Batch(
        farm_id=plan.farm_id,
        name=asked.name,
        species=programme.species,
        type=programme.type,
        hatch_day=arrives - timedelta(days=asked.age_at_arrival_days),
        arrived_on=arrives,
        leaves_on=asked.leaves,
        programme_version=version,
    )


def _programme(farm_id: int, choice: str) -> tuple[Programme, ProgrammeVersion]:
    """Return a programme and a version row that holds it, saved only if the farm has it already."""
    built_in = load.programmes().get(choice)
    if built_in is None:
        version = programmes.latest(lookup.get(RearingProgramme, farm_id=farm_id, pk=choice))
        return programmes.of_version(version), version
    content = load.to_dict(built_in)
    return built_in, ProgrammeVersion(farm_id=farm_id, content=content, digest=f"{_NEW}:{choice}")
