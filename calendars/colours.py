"""Colour means age, in calendars too: the stages of plumage as the CSS names nearest to their colours.

Readers take CSS names alone (RFC 7986 §5.9), so the ramp of the pages comes in four steps here.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from farm.planning.agenda import AgendaBatch, Item
from farm.web import plumage

BY_STAGE = {"down": "khaki", "pinning": "sandybrown", "feathering": "peru", "feathered": "sienna"}
EGGS, OTHER = "wheat", "tan"
ROUND_COLORS = {"morning": "gold", "midday": "goldenrod", "evening": "saddlebrown"}
DAY_COLOR = "goldenrod"


def feathered_days(batches: Iterable[AgendaBatch]) -> dict[str, float]:
    """Return the age in days at which each batch is feathered, by its key."""
    rules = ((batch.key, batch.programme.rules.get("feathered_day")) for batch in batches)
    return {key: float(rule.value) for key, rule in rules if rule is not None}


def of_step(item: Item, feathered: Mapping[str, float]) -> str:
    """Return the colour of a step: of its birds' age, of eggs, or of neither."""
    day = feathered.get(item.batch or "")
    if day is not None and item.age_days is not None:
        return BY_STAGE[plumage.stage(item.age_days, day)]
    return EGGS if item.source.startswith(("eggs:", "machine:")) else OTHER
