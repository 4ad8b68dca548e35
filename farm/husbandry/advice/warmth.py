"""Warmer or cooler: what the birds show comes before the thermometer, and the thermometer before the table.

Of several things seen, the latest look counts; within one look, what was seen nearest to the birds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TypeVar

from farm.husbandry import heat
from farm.phrase import N_, Phrase, Quantity, Value
from farm.trade.behaviours import behaviours
from farm.trade.general import figure
from farm.trade.programme import Programme

WARMER, COOLER, DRAUGHT, FINE, LOOK = "warmer", "cooler", "draught", "fine", "look"
#: How near to the birds something was noted: of the batch in its housing, of either alone, of anything else.
NEAREST, NEAR, FAR = 0, 1, 2
HOT_WORK = ("heat_lamp", "cord")


@dataclass(frozen=True, slots=True)
class Reading:
    """A thermometer at back height under the edge of the heat. near: NEAREST, NEAR or FAR."""

    at: datetime
    temp_c: float
    near: int = NEAREST


@dataclass(frozen=True, slots=True)
class Seen:
    """A behaviour by its key in the trade's table. near: NEAREST, NEAR or FAR."""

    at: datetime
    word: str
    near: int = NEAREST


Noted = TypeVar("Noted", Reading, Seen)


@dataclass(frozen=True, slots=True)
class Advice:
    """What to do: verdict of WARMER, COOLER, DRAUGHT, FINE, LOOK; by how many °C (0 for none); to which reading.

    words: in the order to be said. cautions: keys of the trade's cautions. vet: whether to ask the vet.
    """

    verdict: str
    change_c: float
    to_c: float
    words: tuple[Phrase, ...]
    cautions: tuple[str, ...]
    vet: bool


def advise(
    programme: Programme, age_days: int, readings: Sequence[Reading], seen: Sequence[Seen], now: datetime
) -> Advice:
    """Return the advice for birds of an age, from what was noted in the last 24 hours, in any order.

    Raises KeyError for a behaviour that is not in the table.
    """
    table_c, step_c = heat.set_temp_c(programme, age_days), _step_c(programme, age_days)
    looks, read = _recent(seen, now), _recent(readings, now)
    reading_c = read[0].temp_c if read else None
    if not looks:
        return _by_thermometer(table_c, reading_c)
    word = looks[0].word
    advice = _by_birds(behaviours()[word].verdict, table_c, step_c, reading_c)
    told = Phrase(behaviours()[word].advice)
    against = _against(looks)
    return Advice(
        advice.verdict,
        advice.change_c,
        advice.to_c,
        (told, *advice.words, *against),
        advice.cautions,
        advice.vet,
    )


def _recent(noted: Sequence[Noted], now: datetime) -> list[Noted]:
    """Return what still counts, what counts most first: the latest look, nearest first, then what came before it."""
    since = now - timedelta(hours=figure("warmth", "seen_hours"))
    kept: list[Noted] = sorted(
        (each for each in noted if since <= each.at <= now), key=lambda each: each.at, reverse=True
    )
    if not kept:
        return []
    look = kept[0].at - timedelta(hours=figure("warmth", "same_look_hours"))
    return sorted(kept, key=lambda each: (0, each.near) if each.at >= look else (1, 0))


def _step_c(programme: Programme, age_days: int) -> float:
    """Return how many °C the table's next step goes down, the last one's where none is left."""
    falls = [
        (after.day, before.value - after.value) for before, after in pairwise(programme.curves["temp_c"])
    ]
    falls = [(day, fall) for day, fall in falls if fall > 0]
    if not falls:
        return figure("warmth", "step_c")
    return next((fall for day, fall in falls if day > age_days), falls[-1][1])


def _by_birds(verdict: str, table_c: float, step_c: float, reading_c: float | None) -> Advice:
    """Return the advice of a look: a step from what is read now, or from the table where nothing was read."""
    start_c = table_c if reading_c is None else reading_c
    if verdict == "draught":
        return Advice(DRAUGHT, 0.0, start_c, (), (), vet=False)
    if verdict == "ok":
        off = abs(start_c - table_c) > figure("warmth", "reading_off_c")
        return Advice(FINE, 0.0, start_c, _off_the_table(start_c, table_c) if off else (), (), vet=False)
    change = step_c if verdict == "cold" else -step_c
    to_c = start_c + change
    text = N_("Make it %(by)s warmer: %(to)s.") if change > 0 else N_("Make it %(by)s cooler: %(to)s.")
    words: tuple[Phrase, ...] = (
        Phrase(text, {"by": Quantity(step_c, "delta_degC"), "to": Quantity(to_c, "degC")}),
    )
    past_c = (start_c - table_c) * (1 if change > 0 else -1)
    vet = past_c >= step_c  # a whole step past the table already, and still not right
    if vet:
        words = (*words, Phrase(_ASK))
    return Advice(WARMER if change > 0 else COOLER, change, to_c, words, HOT_WORK, vet)


_ASK = N_(
    "By the thermometer it should long be right. Check it and where it hangs; sick birds show the same: ask your vet."
)


def _by_thermometer(table_c: float, reading_c: float | None) -> Advice:
    values: dict[str, Value] = {"table": Quantity(table_c, "degC")}
    if reading_c is None:
        text = N_("The table says %(table)s. Nobody noted how they lie: look at them, they know better.")
        return Advice(LOOK, 0.0, table_c, (Phrase(text, values),), (), vet=False)
    off = table_c - reading_c
    values |= {"read": Quantity(reading_c, "degC"), "by": Quantity(abs(off), "delta_degC")}
    if abs(off) <= figure("warmth", "reading_off_c"):
        text = N_("%(read)s is near the table's %(table)s. How they lie comes first.")
        return Advice(FINE, 0.0, reading_c, (Phrase(text, values),), (), vet=False)
    if off > 0:
        text = N_("%(read)s is %(by)s below the table. Look how they lie; if they huddle, make it warmer.")
        return Advice(WARMER, off, table_c, (Phrase(text, values),), HOT_WORK, vet=False)
    text = N_("%(read)s is %(by)s above the table. Look how they lie; if they pant, make it cooler.")
    return Advice(COOLER, off, table_c, (Phrase(text, values),), HOT_WORK, vet=False)


def _off_the_table(reading_c: float, table_c: float) -> tuple[Phrase, ...]:
    text = N_("%(read)s is not the table's %(table)s, but they are well: leave it.")
    return (Phrase(text, {"read": Quantity(reading_c, "degC"), "table": Quantity(table_c, "degC")}),)


def _against(looks: list[Seen]) -> tuple[Phrase, ...]:
    """Return what else was seen that says otherwise, and why it does not count."""
    first = behaviours()[looks[0].word]
    others = [look for look in looks[1:] if behaviours()[look.word].verdict != first.verdict]
    if not others:
        return ()
    same_look = looks[0].at - others[0].at <= timedelta(hours=figure("warmth", "same_look_hours"))
    if same_look:
        text = N_("Also seen: “%(seen)s”. What was seen nearest to them counts; look again soon.")
    else:
        text = N_("Seen before: “%(seen)s”. The latest look counts.")
    return (Phrase(text, {"seen": Phrase(behaviours()[others[0].word].seen)}),)
