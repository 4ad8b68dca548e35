"""How the lines that are being typed would stand, worked out and not saved."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date

from farm.models import Batch, Farm, Order
from farm.models.order import Priority
from farm.planning.allotments import LineOdds, Wanted
from farm.queries import allotments, programmes
from farm.queries.orders import Meant
from farm.web.orders import wording
from farm.web.orders.forms import LineForm, Lines, OrderForm


@dataclass(frozen=True, slots=True)
class Looked:
    """One typed line: its number in the form, how it would stand, in words too, and the batches meant for it."""

    number: int
    odds: LineOdds
    likely: str
    stands: str
    band: str
    meant: tuple[Meant, ...]


def look(farm: Farm, today: date, form: OrderForm, lines: Lines, order: Order | None) -> tuple[Looked, ...]:
    """Return how the valid lines would stand as a confirmed order. order: the one they change, None for a new one."""
    priority = form.cleaned_data["priority"] if form.is_valid() else Priority.USUAL
    known = list(order.lines.prefetch_related("fillings")) if order else []
    given = {line.pk: sum(one.birds for one in line.fillings.all()) for line in known}
    wanted: dict[int, Wanted] = {}
    for number, row in enumerate(lines.forms, 1):
        if row in lines.used:
            keys = {one.key for one in wanted.values()}
            wanted[number] = _wanted(farm, row, _key(row, number, given, keys), priority, given)
    asked = {number: line for number, line in wanted.items() if line.birds > 0}
    found = allotments.trial(farm, today, tuple(asked.values()), without=given.keys())
    batches = Batch.objects.in_bulk(list(found.supplies))
    return tuple(_looked(number, line, found, batches) for number, line in asked.items())


def _looked(number: int, line: Wanted, found: allotments.FarmAllotment, batches: dict[int, Batch]) -> Looked:
    odds = found.allotment.lines[line.key]
    shares = [share for share in found.allotment.shares if share.wanted == line.key]
    return Looked(
        number=number,
        odds=odds,
        likely=wording.likely(odds.chance),
        stands=wording.stands(odds),
        band=wording.band(odds),
        meant=tuple(Meant(batches[int(share.supply)], share.birds, share.day) for share in shares),
    )


def _key(row: LineForm, number: int, given: Mapping[int, int], taken: Collection[str]) -> str:
    """Return the line's own key, a new one's such that it comes after those known: keys decide who is served first."""
    known = row.cleaned_data["line_id"]
    return str(known) if known in given and str(known) not in taken else f"new {number:02}"


def _wanted(farm: Farm, row: LineForm, key: str, priority: int, given: dict[int, int]) -> Wanted:
    typed = row.line()
    shown = programmes.shown(farm.pk, typed.programme)
    return Wanted(
        key=key,
        name=key,
        type=shown.row.built_in if shown.row else shown.key,
        sex="female" if typed.sex == "female" else "male" if typed.sex == "male" else "any",
        age_from_days=typed.age_from_days,
        age_to_days=typed.age_to_days,
        birds=max(typed.birds - given.get(typed.line_id or 0, 0), 0),
        from_on=typed.from_on,
        to_on=typed.to_on,
        priority=priority,
        breed=typed.breed,
    )
