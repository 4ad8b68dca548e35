"""Steps at the boundaries of stays: moves, getting used to the cold before them, clean-out and rest."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

from farm.phrase import N_, Phrase
from farm.planning.agenda.ages import rule
from farm.planning.agenda.building import Builder, wanted
from farm.planning.agenda.homes import DAY, Home, Homes, Run
from farm.planning.agenda.records import AgendaBatch, AgendaStay, Item
from farm.trade.programme import JUDGEMENT

TWO_PEOPLE_ABOVE = 50  # birds in one move, trade table: project default (judgement)


@dataclass(frozen=True, slots=True)
class Move:
    """Birds of one batch that change housing on `day`; `origins` are the stays they leave."""

    batch: AgendaBatch
    day: date
    origins: tuple[AgendaStay, ...]
    target: AgendaStay
    birds: int


def steps(homes: Homes, build: Builder) -> Iterator[Item]:
    """Yield moves, the days of cooling before them, and clean-out and end of rest of emptied housing."""
    for batch in homes.batches.values():
        for move in moves(batch, homes):
            if wanted(batch, "move"):
                yield _move(move, homes, build)
            yield from _acclimatise(move, homes, build)
    for room, runs in homes.runs.items():
        for i, run in enumerate(runs):
            if run.end is not None:
                yield from _emptied(room, run, run.end, runs[i + 1] if i + 1 < len(runs) else None, build)


def moves(batch: AgendaBatch, homes: Homes) -> Iterator[Move]:
    """Yield the batch's moves, one a housing moved into and day.

    Birds that stay in the housing under a new stay do not move. Birds that leave no housing (arrivals) do
    not either.
    """
    stays = homes.by_batch[batch.key]
    for day in sorted({stay.end for stay in stays if stay.end is not None}):
        left = {s.room: s for s in stays if s.end == day and homes.begins(s) < day}
        leaving = Counter[str]()
        entering = Counter[str]()
        for stay in stays:
            if stay.end == day:
                leaving[stay.room] += stay.birds
            elif homes.begins(stay) == day:
                entering[stay.room] += stay.birds
        gone, come = leaving - entering, entering - leaving
        for room, birds in come.items():
            origins = tuple(left[r] for r in gone)
            if origins:
                target = next(s for s in stays if s.room == room and homes.begins(s) == day)
                yield Move(batch, day, _enough(origins, gone, birds), target, birds)


def _enough(origins: tuple[AgendaStay, ...], gone: Counter[str], birds: int) -> tuple[AgendaStay, ...]:
    """Take from the origins, first come first, the birds a housing receives; return those it took from."""
    used = []
    for stay in origins:
        take = min(birds, gone[stay.room])
        if take > 0:
            gone[stay.room] -= take
            birds -= take
            used.append(stay)
    return tuple(used) or origins[-1:]


def _home(stay: AgendaStay, birds: int) -> Home:
    return Home(stay.room, stay.room_name, birds, stay.indoor, stay.heated, True)


def _from(origins: tuple[AgendaStay, ...]) -> Phrase | str:
    if len(origins) == 1:
        return origins[0].room_name
    return Phrase(
        N_("%(first)s and %(others)s"), {"first": origins[0].room_name, "others": _from(origins[1:])}
    )


def _move(move: Move, homes: Homes, build: Builder) -> Item:
    values = {"birds": move.birds, "origin": _from(move.origins), "target": move.target.room_name}
    return build.step(
        "move",
        f"batch:{move.batch.key}/move/room:{move.target.room}",
        move.day,
        _home(move.target, move.birds),
        Phrase(
            N_("Move %(birds)s bird from %(origin)s → %(target)s"),
            values,
            N_("Move %(birds)s birds from %(origin)s → %(target)s"),
            "birds",
        ),
        Phrase(N_("The plan moves %(batch)s on this day"), {"batch": move.batch.name}),
        batch=move.batch,
        people=2 if move.birds > TWO_PEOPLE_ABOVE else 1,
    )


def _acclimatise(move: Move, homes: Homes, build: Builder) -> Iterator[Item]:
    """Yield the days near outdoor temperature before birds leave heat for the outdoors."""
    days = rule(move.batch.programme, "acclimatise_days")
    if not days or move.target.heated or move.target.indoor:
        return
    warm = {stay.room for stay in move.origins if stay.heated}
    first = move.day - timedelta(days=days)
    for home in homes.of(move.batch.key, first):
        if home.room in warm:
            yield build.step(
                "heat_lower",
                f"batch:{move.batch.key}/acclimatise/room:{home.room}",
                first,
                home,
                Phrase(
                    N_("%(room)s: let it cool towards outdoor temperature by %(day)s"),
                    {"room": home.name, "day": move.day},
                ),
                Phrase(
                    N_("They move outdoors to %(target)s on %(day)s and need days to get used to it."),
                    {"target": move.target.room_name, "day": move.day},
                ),
                source_key=move.batch.programme.rules["acclimatise_days"].source,
                batch=move.batch,
                until=move.day,
            )


def _emptied(room: str, run: Run, day: date, following: Run | None, build: Builder) -> Iterator[Item]:
    """Yield the clean-out of housing just emptied, and the end of its rest if it may rest that long."""
    last = [stay for stay in run.stays if stay.end == day]
    home, rest = _home(last[0], sum(stay.birds for stay in last)), last[0].rest_days
    ready = day + timedelta(days=rest)
    batches = tuple(dict.fromkeys(stay.batch for stay in last))
    yield build.step(
        "clean_out",
        f"room:{room}/clean_out",
        day,
        home,
        Phrase(N_("%(room)s: clean out"), {"room": home.name}),
        Phrase(
            N_("It stands empty; germs outlast the birds. Cleaned today, it is rested on %(day)s."),
            {"day": ready},
        ),
        batches=batches,
    )
    if rest and (following is None or following.start >= ready):
        yield build.step(
            "clean_out",
            f"room:{room}/rest_over",
            ready,
            home,
            Phrase(N_("%(room)s: rest is over, ready for new birds"), {"room": home.name}),
            Phrase(
                N_("It rested %(days)s day after %(left)s."),
                {"days": rest, "left": day - DAY},
                N_("It rested %(days)s days after %(left)s."),
                "days",
            ),
            source_key=JUDGEMENT,
            batches=batches,
            free=True,
        )
