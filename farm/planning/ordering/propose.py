"""The only way in: a need in, a proposal out."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Sequence

from farm.husbandry import odds
from farm.planning.ordering import reasons, saying, sizing
from farm.planning.ordering.draft import Draft, Lot
from farm.planning.ordering.improving import Told, improve
from farm.planning.ordering.records import LineAnswer, Need, Proposal, ProposedIntake, ProposedSet
from farm.planning.ordering.ways import ways


def propose(need: Need, report: Told | None = None) -> Proposal:
    """Return which eggs to set and which chicks to buy; the same need gives the same answer, in every process.

    report(done, of all): called after every try; returning False ends the search there. Rooms are as before
    afterwards. Raises KeyError for a line of a type that is not in `kinds`, ValueError for loads in machines that are
    not given.
    """
    draft = Draft(need)
    try:
        improve(draft, need.tries, report)
        return _answer(draft)
    finally:
        draft.back(0)


def _answer(draft: Draft) -> Proposal:
    lots = sorted(
        draft.lots.values(),
        key=lambda lot: (lot.day.set_on or lot.day.arrival, lot.kind.type, [draft.lines[at].key for at in lot.lines],
                         lot.day.hatch_day, _machines(lot), lot.count, lot.number),
    )  # fmt: skip
    sets = tuple(_set(draft, lot, f"set-{at + 1}") for at, lot in enumerate(lots) if lot.load is not None)
    intakes = tuple(
        _intake(draft, lot, f"intake-{at + 1}") for at, lot in enumerate(lots) if lot.load is None
    )
    lines = {wanted.key: _line(draft, at) for at, wanted in enumerate(draft.lines)}
    return Proposal(sets, intakes, lines, draft.cost()[0], _digest(sets, intakes))


def _machines(lot: Lot) -> tuple[str, str]:
    return ("", "") if lot.load is None else (lot.load.setter, lot.load.hatcher)


def _set(draft: Draft, lot: Lot, key: str) -> ProposedSet:
    assert lot.load is not None
    assert lot.day.set_on is not None
    hatched = sizing.begun(lot.start, lot.count)
    return ProposedSet(
        key, lot.kind.type, lot.load.setter, lot.load.hatcher, lot.day.set_on, lot.day.hatch_day, lot.count,
        round(odds.mean(hatched), 6), *odds.band(hatched), _keys(draft, lot), draft.leaves_on(lot),
        saying.why_day(draft, lot), saying.why_many(draft, lot), draft.breed(lot), draft.need.rooms.stays(lot.taken),
    )  # fmt: skip


def _intake(draft: Draft, lot: Lot, key: str) -> ProposedIntake:
    assert lot.day.supplier is not None
    alive = round(odds.mean(sizing.begun(lot.start, lot.count)), 6)
    return ProposedIntake(
        key, lot.kind.type, lot.day.supplier.key, lot.day.arrival, lot.count, lot.start.sex, alive,
        _keys(draft, lot), draft.leaves_on(lot), saying.why_bought(draft, lot), saying.why_many(draft, lot),
        draft.breed(lot), draft.need.rooms.stays(lot.taken),
    )  # fmt: skip


def _keys(draft: Draft, lot: Lot) -> tuple[str, ...]:
    return tuple(sorted(draft.lines[at].key for at in lot.lines))


def _line(draft: Draft, line: int) -> LineAnswer:
    wanted, short = draft.lines[line], draft.short[line]
    lots = [draft.lots[number] for number in sorted(draft.of_line[line])]
    final = next((lot for lot in lots if not lot.piece), None)
    if final is None:
        law = draft.law(line)
        chance = odds.chance_of(law, wanted.birds)
        expected = float(sum(min(k, wanted.birds) * p for k, p in enumerate(law.tolist())))
    else:
        asks = [draft.ask(at, final.day) for at in final.lines]
        outcome = sizing.outcomes(final.kind, final.start, final.count, asks)[final.lines.index(line)]
        chance, expected = outcome.chance, outcome.expected
    if short:
        return LineAnswer(
            wanted.birds, chance, expected, short, reasons.missing(draft, line), ways(draft, line)
        )
    besides = wanted.key in draft.need.besides
    return LineAnswer(wanted.birds, chance, expected, 0, saying.where_from(draft, lots, besides))


def _digest(sets: Sequence[ProposedSet], intakes: Sequence[ProposedIntake]) -> str:
    """Return the SHA-256 of what is to be set and bought, when, where and for whom."""
    said = [
        [each.type, each.setter, each.hatcher, each.set_on.isoformat(), each.eggs, each.lines]
        for each in sets
    ]
    said += [
        [each.type, each.supplier, each.day.isoformat(), each.birds, each.sex, each.lines] for each in intakes
    ]
    return hashlib.sha256(json.dumps(said, separators=(",", ":")).encode()).hexdigest()
