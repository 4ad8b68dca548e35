"""Going out in words: the date, what stands against an earlier one, and what a warmer shelter would change."""

from __future__ import annotations

import math

from farm.husbandry.going_out import DayAnswer, Night, NightAnswer
from farm.phrase import N_, Phrase, Quantity, Value
from farm.trade.general import figure

#: Chances of a cold night from which one says: nearly every night; so many in ten; below the last: fewer than 1 in 100.
_MOSTLY, _HALF, _SELDOM = 0.95, 0.5, 0.01
_DAYS_PER_WEEK = 7

#: To be shown beside every answer.
CAUTION = Phrase(
    N_(
        "What nights each age bears is a rule of thumb of this tool: no official table is known. A chance is each"
        " night's own: one cold night among many is likelier. Look at the birds in the evening and in the morning:"
        " loud and piled up, they are too cold."
    )
)


def explain(answer: NightAnswer) -> Phrase:
    """Return when they may stay out at night, and why not sooner."""
    values: dict[str, Value] = {
        "age": _age(answer.ready.age_days),
        "ready": answer.ready.day,
        "nights": answer.nights,
        "sure": _percent(answer.confidence),
    }
    if answer.last_cold is None or answer.coldest is None:
        text = N_(
            "%(age)s on %(ready)s, and each of the next %(nights)d nights is warm enough for them with a chance of"
            " %(sure)d %% or more."
        )
        return Phrase(text, values)
    values["odds"] = odds(answer.coldest)
    if answer.day is None:
        text = N_(
            "%(age)s on %(ready)s, but within a year no %(nights)d nights on end are warm enough for them, each with a"
            " chance of %(sure)d %% or more: %(odds)s."
        )
        return Phrase(text, values)
    values |= {"cold": answer.last_cold.day, "day": answer.day}
    text = N_(
        "%(age)s on %(ready)s, but until %(cold)s nights may be too cold for them: %(odds)s."
        " From %(day)s on each of the next %(nights)d nights is warm enough with a chance of %(sure)d %% or more."
    )
    return Phrase(text, values)


def with_shelter(answer: NightAnswer) -> Phrase:
    """Return one line that sets another shelter's answer beside the first."""
    values: dict[str, Value] = {"warmer": Quantity(answer.shelter.supplement_c, "delta_degC", 0)}
    if answer.day is None:
        return Phrase(N_("%(warmer)s warmer at night than outside: not within a year."), values)
    text = N_("%(warmer)s warmer at night than outside: %(day)s.")
    return Phrase(text, values | {"day": answer.day})


def odds(night: Night) -> Phrase:
    """Return how often such a night is too cold: "1 night in 4 is below 8 °C outside around 3 May"."""
    cold = 1 - night.chance
    values: dict[str, Value] = {"below": _degrees(night.outside_c), "day": night.day}
    if cold >= _MOSTLY:
        return Phrase(N_("nearly every night around %(day)s is below %(below)s outside"), values)
    if cold >= _HALF:
        values["of_ten"] = round(cold * 10)
        return Phrase(N_("%(of_ten)d nights in 10 around %(day)s are below %(below)s outside"), values)
    if cold < _SELDOM:
        return Phrase(N_("fewer than 1 night in 100 around %(day)s is below %(below)s outside"), values)
    values["one_in"] = round(1 / cold)
    return Phrase(N_("1 night in %(one_in)d around %(day)s is below %(below)s outside"), values)


def explain_day(answer: DayAnswer) -> Phrase:
    """Return from when they may go out by day, and on what that rests."""
    values: dict[str, Value] = {"age": _age(answer.age_days), "day": answer.day}
    if not answer.warm:
        return Phrase(
            N_("Out by day from %(day)s, %(age)s, when it is dry and they are out of the wind."), values
        )
    values |= {
        "warm": Quantity(figure("outdoors", "warm_afternoon_c"), "degC", 0),
        "chance": _percent(answer.chance),
    }
    text = N_(
        "Out by day from %(day)s, %(age)s, if that afternoon has %(warm)s or more: the chance is %(chance)d %%."
    )
    return Phrase(text, values)


def _age(days: int) -> Phrase:
    weeks, over = divmod(days, _DAYS_PER_WEEK)
    if over:
        return Phrase(N_("%(days)d day old"), {"days": days}, plural=N_("%(days)d days old"), count="days")
    return Phrase(N_("%(weeks)d week old"), {"weeks": weeks}, plural=N_("%(weeks)d weeks old"), count="weeks")


def _percent(chance: float) -> int:
    """Return a chance in whole per cent, rounded down: nothing is promised that is not kept."""
    return math.floor(chance * 100 + 1e-9)


def _degrees(temp_c: float) -> Quantity:
    return Quantity(temp_c, "degC", 0)
