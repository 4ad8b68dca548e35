"""A proposal's lots in words: why that day, why so many, why bought."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from farm.phrase import N_, Phrase, Value
from farm.planning.ordering import calendar, sizing
from farm.planning.ordering.calendar import Day
from farm.planning.ordering.draft import Draft, Lot
from farm.planning.ordering.records import ANY, FEMALE, MALE


def why_day(draft: Draft, lot: Lot) -> Phrase:
    """Return why eggs are set on that day: the last one in time, or the last with room."""
    pressing = min(lot.lines, key=lambda at: (calendar.span(draft.lines[at])[1], draft.lines[at].rank))
    later = [
        day
        for day in draft.set_days[pressing]
        if day.hatch_day > lot.day.hatch_day and all(calendar.suits(draft.lines[at], day) for at in lot.lines)
    ]
    values: dict[str, Value] = {
        "set_on": _set_on(lot.day), "hatch": lot.day.hatch_day, "line": draft.lines[pressing].name,
    }  # fmt: skip
    if not later:
        return Phrase(
            N_("Set on %(set_on)s to hatch on %(hatch)s, the last allowed day in time for %(line)s"), values
        )
    return Phrase(
        N_(
            "Set on %(set_on)s to hatch on %(hatch)s: in time for %(line)s, with room in a machine and the brooders"
        ),
        values,
    )


def why_many(draft: Draft, lot: Lot) -> Phrase:
    """Return why so many eggs or chicks: the shares that come through, the birds wanted, how sure."""
    if lot.piece:
        return Phrase(
            N_("%(count)d: as many as there is room for; %(line)s needs more"),
            {"count": lot.count, "line": draft.lines[lot.lines[0]].name},
        )
    supplier = lot.day.supplier
    if supplier is not None and lot.count == supplier.minimum > (_asked(draft, lot) or 0):
        return Phrase(
            N_("%(count)d chicks, the fewest %(supplier)s sells; %(wanted)d birds are wanted"),
            {"count": lot.count, "supplier": supplier.name, "wanted": _wanted(draft, lot)},
        )
    return Phrase(_texts(draft, lot), _numbers(draft, lot))


def _texts(draft: Draft, lot: Lot) -> str:
    sexes = {draft.lines[at].sex for at in lot.lines}
    sexed = sexes != {ANY} and lot.start.sex == ANY
    if lot.day.supplier is not None:
        if sexed:
            return N_(
                "%(count)d chicks: at %(hatch)d %% alive on arrival, %(share)d %% of the sex wanted, %(lost)d %% lost "
                "by day %(age)d, %(wanted)d or more with %(sure)d %% certainty"
            )
        return N_(
            "%(count)d chicks: at %(hatch)d %% alive on arrival, %(lost)d %% lost by day %(age)d, "
            "%(wanted)d or more with %(sure)d %% certainty"
        )
    if sexed:
        return N_(
            "%(count)d eggs: at %(hatch)d %% hatched, %(share)d %% of the sex wanted, %(lost)d %% lost by day "
            "%(age)d, %(wanted)d or more with %(sure)d %% certainty"
        )
    return N_(
        "%(count)d eggs: at %(hatch)d %% hatched, %(lost)d %% lost by day %(age)d, %(wanted)d or more with "
        "%(sure)d %% certainty"
    )


def _numbers(draft: Draft, lot: Lot) -> dict[str, Value]:
    age = max((calendar.handed_over(draft.lines[at], lot.day) - lot.day.hatch_day).days for at in lot.lines)
    lived = sizing.lived(lot.kind, lot.start.age_days, max(age, lot.start.age_days)).chance
    numbers: dict[str, Value] = {
        "count": lot.count,
        "hatch": round(100 * sizing.chance_each(lot.start)),
        "lost": round(100 * (1 - lived)),
        "age": age,
        "wanted": _wanted(draft, lot),
        "sure": round(100 * draft.need.confidence),
    }
    sexes = {draft.lines[at].sex for at in lot.lines} & {FEMALE, MALE}
    if sexes and lot.start.sex == ANY:
        share = min(sizing.share_of(lot.kind, lot.start, sex) for sex in sexes)
        numbers["share"] = round(100 * share)
    return numbers


def why_bought(draft: Draft, lot: Lot) -> Phrase:
    """Return why chicks are bought rather than hatched here."""
    line = lot.lines[0]
    kind, wanted = lot.kind, draft.lines[line]
    if not kind.can_set:
        return Phrase(N_("Bought, because no eggs of %(type)s can be set here"), {"type": kind.name})
    soonest = calendar.setting(kind, calendar.span(wanted)[1])
    if _set_on(soonest) < draft.need.today:
        return Phrase(
            N_("Bought, because eggs for %(line)s would have had to be set by %(day)s"),
            {"line": wanted.name, "day": _set_on(soonest)},
        )
    if not draft.set_days[line]:
        return Phrase(
            N_("Bought, because no day for setting eggs is in time for %(line)s"), {"line": wanted.name}
        )
    eggs, room = _room(draft, lot)
    if room == 0:
        return Phrase(
            N_("Bought, because no machine has room for eggs in time for %(line)s"), {"line": wanted.name}
        )
    if room >= eggs:
        return Phrase(
            N_("Bought, because the brooders have no room when eggs for %(line)s would hatch"),
            {"line": wanted.name},
        )
    return Phrase(
        N_("Bought in one batch: the machines have room for %(room)d of %(eggs)d eggs at a time"),
        {"room": room, "eggs": eggs},
    )


def _room(draft: Draft, lot: Lot) -> tuple[int, int]:
    """Return the eggs a lot's first line would take, and the most there is room for, on the best of its days."""
    line, best = lot.lines[0], (1, 0)
    asks = sizing.hatching(lot.kind)
    for day in draft.set_days[line]:
        eggs = draft.sizer.smallest(lot.kind, asks, [draft.ask(line, day)]) or sizing.MOST
        rooms = draft.racks.room(lot.kind, day)
        best = max(best, (eggs, rooms[0].eggs if rooms else 0), key=lambda each: each[1] / each[0])
    return best


def _asked(draft: Draft, lot: Lot) -> int | None:
    return draft.sizer.smallest(lot.kind, lot.start, [draft.ask(at, lot.day) for at in lot.lines])


def _wanted(draft: Draft, lot: Lot) -> int:
    return sum(draft.lines[at].birds for at in lot.lines)


def _set_on(day: Day) -> date:
    return day.set_on or day.hatch_day


def where_from(draft: Draft, lots: Sequence[Lot], besides: bool) -> Phrase:
    """Return where a met line's birds come from. besides: some are there already."""
    if not lots:
        return Phrase(N_("The birds already meant for it are enough"))
    first = lots[0]
    values: dict[str, Value] = {"batches": len(lots), "day": _set_on(first.day)}
    if len(lots) > 1:
        return Phrase(
            N_("From %(batches)d batches together, none of which has room for all"), {"batches": len(lots)}
        )
    if first.day.supplier is not None:
        values = {"supplier": first.day.supplier.name, "day": first.day.arrival}
        return Phrase(N_("From chicks of %(supplier)s arriving on %(day)s"), values)
    text = (
        N_("From eggs to be set on %(day)s, beside birds already meant for it")
        if besides
        else N_("From eggs to be set on %(day)s")
    )
    return Phrase(text, {"day": values["day"]})
