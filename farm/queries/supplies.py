"""The birds that orders can be filled from: batches here, hatching and coming, as allotments know them."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.db.models import Q

from farm.husbandry import odds
from farm.models import Batch, Farm, Order, OrderLine, RearingProgramme
from farm.models.batch import Sex
from farm.models.order import OrderStatus, WantedSex
from farm.planning.allotments import Hold, Supply, Wanted
from farm.planning.allotments.records import Sex as SexAsked
from farm.queries import heads, programmes
from farm.queries.hatch_rates import FarmRates
from farm.queries.hatching import outlook
from farm.trade.general import figure


def supplies(farm: Farm, today: date) -> tuple[Supply, ...]:
    """Return every batch of the farm that has birds or is expected, keyed by number. A steady number of queries."""
    rows = (
        Batch.objects.filter(farm=farm)
        .select_related(
            "programme_version__programme", "egg_set__programme_version", "intake__programme_version"
        )
        .prefetch_related("count_entries", "holds", "egg_set__entries")
    )
    rates = FarmRates(farm)
    return tuple(
        _supply(row, today, rates)
        for row in rows
        if row.expected or heads.alive_on(row, max(today, row.arrived_on)) > 0
    )


def wanted(farm: Farm, also: Order | None = None) -> tuple[Wanted, ...]:
    """Return what confirmed orders still lack, a line each, keyed by number. Quotes hold no birds.

    also: an order read as if it were confirmed.
    """
    rows = (
        OrderLine.objects.filter(Q(order__status=OrderStatus.CONFIRMED) | Q(order=also), farm=farm)
        .select_related("order", "programme")
        .prefetch_related("fillings")
    )
    return tuple(_wanted(row, left) for row in rows if (left := lacking(row)) > 0)


def lacking(line: OrderLine) -> int:
    """Return the birds still to be handed over for a line."""
    return line.birds - sum(filling.birds for filling in line.fillings.all())


def suits(line: OrderLine, batch: Batch) -> bool:
    """Say whether birds of `batch` are what a line asks for: type, breed where it names one, and sex."""
    other = {WantedSex.FEMALE: Sex.MALE, WantedSex.MALE: Sex.FEMALE}.get(WantedSex(line.sex))
    return (
        kind(line.programme) == kind(batch.programme_version.programme)
        and line.breed.casefold() in ("", batch.breed.casefold())
        and batch.sex != other
    )


def held_from(line: OrderLine, holds: Iterable[Hold]) -> int:
    """Return the birds that holds keep from a line: all but those of the sex it does not ask for."""
    return sum(hold.birds for hold in holds if "any" in (line.sex, hold.sex) or hold.sex == line.sex)


def holds(batch: Batch) -> tuple[Hold, ...]:
    """Return what is held of a batch."""
    return tuple(Hold(row.birds, _sex(row.sex)) for row in batch.holds.all())


def kind(programme: RearingProgramme) -> str:
    """Return what birds are matched by: the built-in programme theirs came from, whatever the farm changed in it."""
    return programme.built_in


def _supply(row: Batch, today: date, rates: FarmRates) -> Supply:
    known_on = row.arrived_on if row.expected else max(today, row.arrived_on)
    law = _hoped(row, rates) if row.expected else odds.birds(heads.alive_on(row, known_on), ())
    female = {Sex.FEMALE: 1.0, Sex.MALE: 0.0}.get(Sex(row.sex), figure("sexing", "straight_run_female"))
    return Supply(
        key=str(row.pk),
        name=row.name,
        type=kind(row.programme_version.programme),
        programme=programmes.of(row),
        hatch_day=row.hatch_day,
        known_on=known_on,
        law=tuple(law.tolist()),
        from_on=row.arrived_on,
        until=row.leaves_on if row.leaves_on is not None and row.leaves_on > today else None,
        female_share=female,
        holds=holds(row),
        live=not row.expected and row.arrived_on <= today,
        breed=row.breed,
    )


def _hoped(row: Batch, rates: FarmRates) -> odds.Law:
    """Return the law of the birds of an egg set or intake on the day they hatch or arrive."""
    egg_set, intake = getattr(row, "egg_set", None), getattr(row, "intake", None)
    if egg_set is not None:
        return odds.birds(*outlook(egg_set, rates))
    chicks = intake.ordered + intake.extras if intake is not None else heads.alive_on(row, row.arrived_on)
    return odds.birds(chicks, (rates.arrival(programmes.of(row)),))


def _wanted(row: OrderLine, left: int) -> Wanted:
    return Wanted(
        key=str(row.pk),
        name=row.order.customer,
        type=kind(row.programme),
        sex=_sex(row.sex),
        age_from_days=row.age_from_days,
        age_to_days=row.age_to_days,
        birds=left,
        from_on=row.from_on,
        to_on=row.to_on,
        priority=row.order.priority,
        breed=row.breed,
    )


def _sex(word: str) -> SexAsked:
    return "female" if word == WantedSex.FEMALE else "male" if word == WantedSex.MALE else "any"
