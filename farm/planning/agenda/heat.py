"""Heat by age: lowered at each knot of the programme's temperature, and proposed off, never by age alone."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from farm.phrase import N_, Phrase, Quantity, Value
from farm.planning.agenda.ages import AgeStep, knot_at, rule
from farm.planning.agenda.records import AgendaBatch
from farm.trade.general import figure
from farm.trade.programme import JUDGEMENT, Programme


def last_heated_day(programme: Programme) -> int | None:
    """Return the last day of age on which heat may still be needed, None when the programme has no heat."""
    return rule(programme, "heat_off_latest_day") if programme.curves.get("temp_c") else None


def needed(programme: Programme, age_days: int) -> bool:
    """Say whether heat may still be needed at an age."""
    last = last_heated_day(programme)
    return last is not None and age_days <= last


def temp_c(programme: Programme, age_days: int) -> float:
    """Return the °C set at an age: the last knot's, so never cooler than the curve between knots."""
    return knot_at(programme.curves["temp_c"], age_days).value


def steps(batch: AgendaBatch) -> Iterator[AgeStep]:
    """Yield each lowering before the heat may go off, then the proposal to take it off."""
    last = last_heated_day(batch.programme)
    if last is None:
        return
    for before, after in pairwise(batch.programme.curves["temp_c"]):
        if after.value < before.value and after.day < last:
            yield AgeStep(
                "heat_lower",
                after.day,
                N_("%(room)s: %(before)s → %(after)s"),
                Phrase(
                    N_(
                        "At %(weeks)s they need %(after)s at back height. If they huddle, wait; their"
                        " behaviour counts."
                    ),
                    {"weeks": _age(after.day), "after": Quantity(after.value, "degC", 0)},
                ),
                after.source,
                {
                    "before": Quantity(before.value, "degC", 0, bare=True),
                    "after": Quantity(after.value, "degC", 0),
                },
                where="heated",
                shared=True,
            )
    yield _off(batch.programme, last)


def _off(programme: Programme, last: int) -> AgeStep:
    earliest = rule(programme, "heat_off_earliest_day")
    first = last if earliest is None else earliest
    values: dict[str, Value] = {
        "warm": Quantity(figure("outdoors", "heat_off_room_c"), "degC", 0),
        "day": rule(programme, "feathered_day") or last,
    }
    text = N_(
        "Never by age alone: when they are feathered (about day %(day)s) and the night low holds, or"
        " earlier where the"
        " room keeps %(warm)s day and night. You confirm it."
    )
    if programme.curves.get("night_min_c"):
        values["low"] = Quantity(knot_at(programme.curves["night_min_c"], first).value, "degC", 0)
        text = N_(
            "Never by age alone: when they are feathered (about day %(day)s) and the night low in the"
            " housing stays at or"
            " above %(low)s, or earlier where the room keeps %(warm)s day and night. You confirm it."
        )
    return AgeStep(
        "heat_off",
        first,
        N_("%(room)s: heat off, if they are ready"),
        Phrase(text, values),
        JUDGEMENT,
        where="heated",
        last_day=last,
        window=last > first,
        shared=True,
    )


def _age(day: int) -> Phrase:
    weeks, days = divmod(day, 7)
    if days or not weeks:
        return Phrase(N_("day %(day)s"), {"day": day})
    return Phrase(N_("%(weeks)s week"), {"weeks": weeks}, N_("%(weeks)s weeks"), "weeks")
