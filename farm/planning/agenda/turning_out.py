"""Out of the brooder by age: the window in which a move is due, and the first days outdoors."""

from __future__ import annotations

from collections.abc import Iterator

from farm.husbandry import out_words
from farm.phrase import N_, Phrase, Quantity
from farm.planning.agenda.ages import AgeStep, rule
from farm.planning.agenda.heat import last_heated_day
from farm.planning.agenda.records import AgendaBatch
from farm.trade.general import figure
from farm.trade.programme import JUDGEMENT


def steps(batch: AgendaBatch) -> Iterator[AgeStep]:
    """Yield the first outdoor day as a window that opens on warm days and closes when they are feathered."""
    programme = batch.programme
    day = programme.rules.get("day_out_day")
    if day is None:
        return
    first = min(int(day.value), rule(programme, "warm_day_out_day") or int(day.value))
    feathered = rule(programme, "feathered_day")
    out = batch.out
    yield AgeStep(
        "day_out",
        out.day.age_days if out else first,
        N_("%(room)s: first hours outdoors for %(batch)s"),
        out_words.explain_day(out.day)
        if out
        else Phrase(
            N_(
                "Dry, out of the wind and out of rain until feathered: from day %(first)s when the"
                " afternoon has %(warm)s or more, else from day %(day)s."
            ),
            {
                "first": first,
                "day": int(day.value),
                "warm": Quantity(figure("outdoors", "warm_afternoon_c"), "degC", 0),
            },
        ),
        day.source,
        last_day=max(feathered or 0, int(day.value)),
        window=True,
        name="first_out",
    )


def nights_out(batch: AgendaBatch) -> AgeStep | None:
    """Return the step that says they may stay out at night; None without a climate, or where no night is safe."""
    if batch.out is None or batch.out.night.day is None:
        return None
    return AgeStep(
        "night_out",
        (batch.out.night.day - batch.hatch_day).days,
        N_("%(room)s: %(batch)s may stay out at night"),
        out_words.explain(batch.out.night),
        JUDGEMENT,
        checklist=(out_words.CAUTION,),
    )


def move_due(batch: AgendaBatch) -> AgeStep | None:
    """Return the window in which the batch should leave heated housing; None when it never needs heat.

    It opens when heat may go off and closes when they are feathered.
    """
    last = last_heated_day(batch.programme)
    if last is None:
        return None
    first = rule(batch.programme, "heat_off_earliest_day") or last
    closes = max(last, rule(batch.programme, "feathered_day") or last)
    return AgeStep(
        "move",
        first,
        N_("%(room)s: plan the move of %(batch)s to a pen"),
        Phrase(
            N_("They may leave heat from day %(first)s; the plan keeps them in it beyond day %(last)s."),
            {"first": first, "last": closes},
        ),
        JUDGEMENT,
        where="heated",
        last_day=closes,
        window=closes > first,
        name="move_due",
    )
