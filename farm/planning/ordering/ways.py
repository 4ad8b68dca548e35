"""What would meet a line that lacks birds: each way is tried on the proposal as it stands, then taken back."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from datetime import timedelta

from farm.husbandry.first_enough import first_enough
from farm.phrase import N_, Phrase, Value
from farm.planning.machines import Machine
from farm.planning.ordering import calendar, reasons
from farm.planning.ordering.draft import Draft
from farm.planning.ordering.placing import begins, place
from farm.planning.ordering.racks import Racks
from farm.planning.ordering.records import LATER_DAYS, Need, Supplier, Way
from farm.planning.ordering.sizing import Sizer

#: How sure a line must be instead: project default (judgement).
LESS_SURE = (0.85, 0.8, 0.7, 0.6, 0.5)
#: A supplier nobody has named, who sells everything on any day.
SOMEONE = "someone"


def ways(draft: Draft, line: int) -> tuple[Way, ...]:
    """Return the ways found for a line that lacks birds, nobody else's birds touched."""
    mark = draft.mark()
    for number in list(draft.of_line[line]):
        draft.drop(number)
    found = [
        way for make in (_machine, _later, _less_sure, _bought) if (way := make(draft, line)) is not None
    ]
    draft.back(mark)
    return tuple(found)


@contextmanager
def changed(draft: Draft, line: int, need: Need) -> Iterator[Draft]:
    """Give a draft another need, for one line's sake; all is as before on leaving, whatever was placed meanwhile."""
    old = draft.need, draft.lines[line], draft.sizer, draft.racks
    days = draft.set_days[line], draft.intake_days[line]
    mark = draft.mark()
    wanted = next(each for each in need.wanted if each.key == old[1].key)
    draft.need, draft.lines[line] = need, wanted
    if need.machines != old[0].machines:
        draft.racks = Racks(need.machines, tuple(draft.racks.loads.values()))
    draft.set_days[line], draft.intake_days[line] = (
        calendar.set_days(need, wanted),
        calendar.intake_days(need, wanted),
    )
    if need.confidence != old[0].confidence:
        draft.sizer = Sizer(need.confidence)
    draft.judge(line)
    try:
        yield draft
    finally:
        draft.back(mark)
        draft.need, draft.lines[line], draft.sizer, draft.racks = old
        draft.set_days[line], draft.intake_days[line] = days
        draft.judge(line)


def meets(draft: Draft, line: int, need: Need) -> bool:
    """Return whether a line is met once the need is another; tried by placing it."""
    before = draft.need.confidence
    with changed(draft, line, need):
        # A lot joined would be made anew for all its lines: not with less certainty for one line's sake.
        return place(draft, line, alone=need.confidence != before)


def _machine(draft: Draft, line: int) -> Way | None:
    """Return the fewest more eggs that one of the machines would have to hold."""
    near = reasons.nearest(draft, line)
    if near is None or near.day.supplier is not None or near.room >= near.count:
        return None
    size = draft.need.kinds[draft.lines[line].type].size
    best: tuple[int, Machine] | None = None
    for machine in (each for each in draft.racks.machines if each.capacity.get(size)):
        more = _fewest_more(draft, line, machine, near.count - near.room, near.count)
        if more is not None and (best is None or more < best[0]):
            best = more, machine
    if best is None:
        return None
    values: dict[str, Value] = {"eggs": best[0], "machine": best[1].name}
    return Way(
        "machine",
        Phrase(
            N_("Room for %(eggs)d more egg in %(machine)s"),
            values,
            N_("Room for %(eggs)d more eggs in %(machine)s"),
            "eggs",
        ),
    )


def _fewest_more(draft: Draft, line: int, machine: Machine, least: int, most: int) -> int | None:
    """Return the fewest more eggs, from least to most, with which a machine would do; None where even the most fail."""
    size = draft.need.kinds[draft.lines[line].type].size

    def enough(more: int) -> bool:
        return meets(draft, line, _larger(draft.need, machine, size, more))

    return first_enough(enough, least, most) if enough(most) else None


def _larger(need: Need, machine: Machine, size: str, more: int) -> Need:
    holds: Mapping[str, int] = {**machine.capacity, size: machine.capacity.get(size, 0) + more}
    larger = replace(machine, capacity=holds)
    return replace(
        need, machines=tuple(larger if each.key == machine.key else each for each in need.machines)
    )


def _later(draft: Draft, line: int) -> Way | None:
    """Return the first day after the line's last on which one lot would have all its birds."""
    wanted = draft.lines[line]
    longer = replace(wanted, to_on=wanted.to_on + timedelta(days=LATER_DAYS))
    lines = tuple(longer if each.key == wanted.key else each for each in draft.need.wanted)
    with changed(draft, line, replace(draft.need, wanted=lines)):
        days = (*draft.set_days[line], *draft.intake_days[line])
        fresh = [day for day in days if not calendar.suits(wanted, day)]
        handed = sorted((calendar.handed_over(longer, day), at) for at, day in enumerate(fresh))
        to_on = next((end for end, at in handed if begins(draft, line, fresh[at])), None)
    if to_on is None:
        return None
    values: dict[str, Value] = {"day": to_on, "days": (to_on - wanted.to_on).days}
    return Way(
        "later",
        Phrase(
            N_("Hand over until %(day)s: %(days)d day later"),
            values,
            N_("Hand over until %(day)s: %(days)d days later"),
            "days",
        ),
    )


def _less_sure(draft: Draft, line: int) -> Way | None:
    """Return the most certainty below what is asked for that there is room for."""
    if not meets(draft, line, replace(draft.need, confidence=min(LESS_SURE))):
        return None
    for confidence in LESS_SURE:
        if confidence < draft.need.confidence and meets(
            draft, line, replace(draft.need, confidence=confidence)
        ):
            values: dict[str, Value] = {
                "less": round(100 * confidence), "sure": round(100 * draft.need.confidence),
            }  # fmt: skip
            return Way(
                "confidence", Phrase(N_("Be content with %(less)d %% certainty, not %(sure)d %%"), values)
            )
    return None


def _bought(draft: Draft, line: int) -> Way | None:
    """Return the chicks somebody would have to sell."""
    wanted = draft.lines[line]
    someone = Supplier(SOMEONE, "", frozenset({wanted.type}))
    with changed(draft, line, replace(draft.need, suppliers=(someone,))):
        if not place(draft, line):
            return None
        lots = [draft.lots[number] for number in draft.of_line[line]]
        bought = [lot for lot in lots if lot.day.supplier is not None]
        if len(bought) != 1:
            return None
        values: dict[str, Value] = {"birds": bought[0].count, "day": bought[0].day.arrival}
    return Way(
        "buy",
        Phrase(
            N_("Find a seller of %(birds)d chick that arrives on %(day)s"),
            values,
            N_("Find a seller of %(birds)d chicks that arrive on %(day)s"),
            "birds",
        ),
    )
