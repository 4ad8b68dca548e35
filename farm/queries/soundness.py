"""What must be true of every farm, judged from its rows alone: the last check when something went wrong."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from django.apps import apps

from farm.models import Batch, EggSet, Farm, Feed, Filling, Housing, Intake, Order, Stay
from farm.models.count_entry import CountKind
from farm.models.egg_set import EggKind, EggSetState
from farm.models.feed import FeedKind
from farm.models.guards import LINKS
from farm.models.intake import IntakeState
from farm.models.order import OrderStatus
from farm.planning import heads as plan
from farm.queries import feed_store, hatching, heads, tally


def problems(farm: Farm) -> list[str]:
    """Return one plain line for each thing that cannot be right; an empty list for a sound farm."""
    return [
        *_ledgers(farm),
        *_ledger_signs(farm),
        *_stays(farm),
        *_shared(farm),
        *_expected(farm),
        *_egg_sets(farm),
        *_hand_overs(farm),
        *_feed(farm),
        *_links(farm),
    ]


def _ledgers(farm: Farm) -> Iterator[str]:
    for batch in Batch.objects.filter(farm=farm).prefetch_related("count_entries"):
        low = heads.first_day_below_zero(batch)
        if low is not None:
            yield f"batch {batch.pk} has {low[1]} fewer than no birds on {low[0]}"


def _ledger_signs(farm: Farm) -> Iterator[str]:
    for batch in Batch.objects.filter(farm=farm):
        for entry in batch.count_entries.filter(kind="reversed").select_related("reverses"):
            if entry.reverses is None or entry.birds != -entry.reverses.birds:
                yield f"count entry {entry.pk} does not take back what it says"


def _stays(farm: Farm) -> Iterator[str]:
    for stay in Stay.objects.filter(farm=farm).select_related("batch", "housing"):
        if stay.start < stay.batch.arrived_on:
            yield f"stay {stay.pk} starts before its batch arrives"
        if stay.one_batch != stay.housing.one_batch:
            yield f"stay {stay.pk} does not carry its housing's rule"
    for batch in Batch.objects.filter(farm=farm).prefetch_related("count_entries", "stays"):
        # Lost or taken back since, birds may leave a stay behind: it is wrong only if none were ever there to take.
        came = [line for line in heads.lines(list(batch.count_entries.all())) if line.birds > 0]
        spans = heads.spans(list(batch.stays.all()))
        got = plan.taken(came, spans)
        for span in spans:
            if got[span.key] == 0 and _was_actual(batch, span.key):
                yield f"stay {span.key} is said to have happened without a bird"


def _was_actual(batch: Batch, key: str) -> bool:
    return any(str(stay.pk) == key and stay.actual for stay in batch.stays.all())


def _shared(farm: Farm) -> Iterator[str]:
    for housing in Housing.objects.filter(farm=farm, one_batch=True):
        last: tuple[int, date | None] | None = None
        for stay in housing.stays.order_by("start", "pk"):
            if last is not None and stay.batch_id != last[0] and (last[1] is None or last[1] > stay.start):
                yield f"housing {housing.pk} takes one batch, but has two on {stay.start}"
            last = (stay.batch_id, stay.end)


def _expected(farm: Farm) -> Iterator[str]:
    """Judge that what is expected and what it is expected of say the same."""
    origins: dict[int, list[tuple[str, date]]] = {}
    for name, is_open, batch, day in _origins(farm):
        if is_open and batch is None:
            yield f"{name} is open without a batch"
        elif batch is not None and batch.expected != is_open:
            yield f"{name} is {'open' if is_open else 'over'}, its batch {batch.pk} is not"
        elif batch is not None and is_open:
            origins.setdefault(batch.pk, []).append((name, day))
    for batch in Batch.objects.filter(farm=farm, expected=True).prefetch_related("count_entries", "stays"):
        yield from _not_here(batch, origins.get(batch.pk, []))


def _not_here(batch: Batch, origins: list[tuple[str, date]]) -> Iterator[str]:
    if len(origins) != 1:
        yield f"batch {batch.pk} is expected of {len(origins)} egg sets or intakes"
    for name, day in origins:
        if day != batch.arrived_on:
            yield f"batch {batch.pk} is expected on {batch.arrived_on}, its {name} on {day}"
    if any(line.birds < 0 for line in tally.standing(list(batch.count_entries.all()))):
        yield f"batch {batch.pk} is only expected, but has lost birds"
    if any(stay.actual for stay in batch.stays.all()):
        yield f"batch {batch.pk} is only expected, but has a stay that has happened"


def _origins(farm: Farm) -> Iterator[tuple[str, bool, Batch | None, date]]:
    """Yield every egg set and intake: its name, whether it is open, its batch, and the day its birds should come."""
    for egg_set in EggSet.objects.filter(farm=farm).select_related("programme_version", "batch"):
        day = hatching.dates_of(egg_set).hatch_day
        yield f"egg set {egg_set.pk}", egg_set.state == EggSetState.OPEN, egg_set.batch, day
    for intake in Intake.objects.filter(farm=farm).select_related("batch"):
        is_open = intake.state == IntakeState.EXPECTED
        yield f"intake {intake.pk}", is_open, intake.batch, intake.due_on


def _egg_sets(farm: Farm) -> Iterator[str]:
    for egg_set in EggSet.objects.filter(farm=farm).prefetch_related("entries"):
        found = hatching.results_of(egg_set)
        if hatching.left_of(egg_set) < 0:
            yield f"egg set {egg_set.pk} has more results than eggs"
        if found.get(EggKind.CULLED, 0) > found.get(EggKind.HATCHED, 0):
            yield f"egg set {egg_set.pk} has more chicks culled than hatched"
        if (egg_set.state == EggSetState.HATCHED) is not (egg_set.hatched_on is not None):
            yield f"egg set {egg_set.pk} is hatched without a day, or has one and is not"
        if egg_set.state == EggSetState.HATCHED and bool(found.get(EggKind.HATCHED)) is (
            egg_set.batch_id is None
        ):
            yield f"egg set {egg_set.pk} has hatched chicks without a batch, or a batch without chicks"


def _hand_overs(farm: Farm) -> Iterator[str]:
    """Judge that each hand-over is in the ledger as it says, and that no confirmed order is full."""
    for filling in Filling.objects.filter(farm=farm).select_related("count_entry", "batch"):
        entry, standing = filling.count_entry, tally.standing(list(filling.batch.count_entries.all()))
        told = (entry.batch_id, entry.kind, -entry.birds, entry.day)
        if entry not in standing or told != (filling.batch_id, CountKind.SOLD, filling.birds, filling.day):
            yield f"hand-over {filling.pk} is not in the ledger as it says"
    for order in Order.objects.filter(farm=farm, status=OrderStatus.CONFIRMED):
        lines = list(order.lines.prefetch_related("fillings"))
        if all(line.birds <= sum(filling.birds for filling in line.fillings.all()) for line in lines):
            yield f"order {order.pk} has all its birds and is not filled"


def _feed(farm: Farm) -> Iterator[str]:
    for feed in Feed.objects.filter(farm=farm).prefetch_related("entries"):
        entries = list(feed.entries.all())
        low = feed_store.first_day_below_zero(entries)
        if low is not None:
            yield f"feed {feed.pk} has {-low[1]} g less than none on {low[0]}"
        taken = {entry.pk: entry.grams for entry in entries}
        for entry in entries:
            if entry.kind == FeedKind.REVERSED and taken.get(entry.reverses_id or 0) != -entry.grams:
                yield f"line {entry.pk} of feed {feed.pk} does not take back what it says"


def _links(farm: Farm) -> Iterator[str]:
    tables = {model._meta.db_table: model for model in apps.get_app_config("farm").get_models()}
    for table, column, target in LINKS:
        theirs = tables[target]._default_manager.exclude(farm_id=farm.pk).values("pk")
        for row in tables[table]._default_manager.filter(farm_id=farm.pk, **{f"{column}__in": theirs}):
            yield f"{table} {row.pk} points to another farm's {target}"
