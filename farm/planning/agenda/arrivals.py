"""The first days of a batch on the farm: heat before it comes, the arrival, the end of isolation."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date, timedelta
from math import ceil

from farm.phrase import N_, Phrase, Quantity
from farm.planning.agenda import heat
from farm.planning.agenda.building import Builder, wanted
from farm.planning.agenda.homes import DAY, Home, Homes
from farm.planning.agenda.records import AgendaBatch, Item
from farm.trade.general import general

#: The figure for how long a species' housing is heated before birds come; the others: `preheat_hours`.
PREHEAT = {"turkey": "preheat_hours_poults", "goose": "preheat_hours_goslings"}


def steps(homes: Homes, build: Builder) -> Iterator[Item]:
    """Yield pre-heating, arrival and the end of isolation of every batch."""
    for batch in homes.batches.values():
        if wanted(batch, "preheat"):
            yield from _preheats(batch, homes, build)
        if wanted(batch, "arrival"):
            yield from _arrivals(batch, homes, build)
        yield from _isolation(batch, homes, build)


def _preheats(batch: AgendaBatch, homes: Homes, build: Builder) -> Iterator[Item]:
    """Yield one item as long before birds that need heat as their housing takes to warm through."""
    last = heat.last_heated_day(batch.programme)
    hours = general()["heat"][PREHEAT.get(batch.species, "preheat_hours")]
    ahead = timedelta(days=ceil(hours.value / 24))
    for day in sorted({homes.begins(stay) for stay in homes.by_batch[batch.key]}):
        age = (day - batch.hatch_day).days
        if last is None or age >= last:
            return
        temp = heat.temp_c(batch.programme, age)
        for home in homes.of(batch.key, day):
            if not home.heated or _warm_enough(homes, home.room, day - DAY, temp):
                continue
            yield build.step(
                "preheat",
                f"batch:{batch.key}/preheat/room:{home.room}",
                day - ahead,
                home,
                Phrase(
                    N_("%(room)s: pre-heat to %(temp)s for %(batch)s"),
                    {"room": home.name, "temp": Quantity(temp, "degC", 0), "batch": batch.name},
                ),
                Phrase(
                    N_("Floor and litter take %(hours)s hours to warm through; they come on %(day)s"),
                    {"hours": int(hours.value), "day": day},
                ),
                source_key=hours.source,
                batch=batch,
            )


def _warm_enough(homes: Homes, room: str, day: date, temp_c: float) -> bool:
    """Say whether birds already there on `day` keep the housing as warm as needed."""
    for key in homes.together(room, day):
        batch = homes.batches[key]
        last, age = heat.last_heated_day(batch.programme), (day - batch.hatch_day).days
        if last is not None and age <= last and heat.temp_c(batch.programme, age) >= temp_c:
            return True
    return False


def _arrivals(batch: AgendaBatch, homes: Homes, build: Builder) -> Iterator[Item]:
    """Yield one item a housing on the batch's first day in any; it stays until birds bought in are recorded."""
    bought = batch.source == "intake" and batch.expected is not None
    day = min((homes.begins(stay) for stay in homes.by_batch[batch.key]), default=None)
    if day is None:
        if bought and batch.expected and batch.arrived_on is not None:
            yield _homeless(batch, batch.expected, batch.arrived_on, build)
        return
    for home in homes.of(batch.key, day):
        suffix = "" if home.first else f"/room:{home.room}"
        item = build.step(
            "arrival",
            f"batch:{batch.key}/arrival{suffix}",
            day,
            home,
            Phrase(
                N_("%(room)s: settle in %(birds)s bird of %(batch)s"),
                {"room": home.name, "birds": home.birds, "batch": batch.name},
                N_("%(room)s: settle in %(birds)s birds of %(batch)s"),
                "birds",
            ),
            build.whys["arrival"],
            batch=batch,
        )
        yield replace(item, open_ended=bought)


def _homeless(batch: AgendaBatch, birds: int, day: date, build: Builder) -> Item:
    """Return the arrival of birds that are expected and have no housing yet."""
    item = build.step(
        "arrival",
        f"batch:{batch.key}/arrival",
        day,
        Home("", "", birds, indoor=True, heated=False, first=True),
        Phrase(
            N_("%(birds)s bird of %(batch)s arrives and has no housing yet"),
            {"birds": birds, "batch": batch.name},
            N_("%(birds)s birds of %(batch)s arrive and have no housing yet"),
            "birds",
        ),
        build.whys["arrival"],
        batch=batch,
    )
    return replace(item, room=None, open_ended=True)


def _isolation(batch: AgendaBatch, homes: Homes, build: Builder) -> Iterator[Item]:
    """Yield the day bought-in birds may meet others, in each housing they live in that day."""
    rule = batch.programme.rules.get("isolation_days")
    ends = batch.isolation_until
    if ends is None and rule is not None and batch.source == "intake" and batch.arrived_on is not None:
        ends = batch.arrived_on + timedelta(days=int(rule.value)) if rule.value else None
    if ends is None:
        return
    for home in homes.of(batch.key, ends):
        yield _released(batch, home, ends, build, rule.source if rule else "EXT-AI")


def _released(batch: AgendaBatch, home: Home, day: date, build: Builder, source: str) -> Item:
    suffix = "" if home.first else f"/room:{home.room}"
    return build.step(
        "look",
        f"batch:{batch.key}/isolation_ends{suffix}",
        day,
        home,
        Phrase(N_("%(room)s: isolation of %(batch)s ends"), {"room": home.name, "batch": batch.name}),
        Phrase(
            N_(
                "Bought-in birds stay apart about 30 days. Look every bird over first; if one seems ill,"
                " keep them apart."
            )
        ),
        source_key=source,
        batch=batch,
    )
