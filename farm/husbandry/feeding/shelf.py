"""How long feed keeps: counted from the day it was milled, shorter where it is warm."""

from __future__ import annotations

from datetime import date, timedelta

from farm.phrase import N_, Phrase
from farm.trade.general import figure

FRESH, HURRY, OLD = "fresh", "hurry", "old"


def keeps_days(mean_c: float | None = None) -> int:
    """Return the days feed keeps from milling, where the store's mean is so many °C (None: not known to be warm)."""
    warm = mean_c is not None and mean_c > figure("feed", "storage_warm_c")
    return int(figure("feed", "storage_days_hot" if warm else "storage_days"))


def warn_days(mean_c: float | None = None) -> int:
    """Return the days from milling after which to use feed up first: the same part of what it keeps, warm or not."""
    return int(keeps_days(mean_c) * warn_share())


def warn_share() -> float:
    """Return the share of the days feed keeps after which to use it up first."""
    return figure("feed", "storage_warn_days") / figure("feed", "storage_days")


def state(milled_on: date, day: date, mean_c: float | None = None, own_days: int | None = None) -> str:
    """Return FRESH, HURRY or OLD for feed milled on one day and looked at on another; own_days: as its maker says."""
    age, keeps = (day - milled_on).days, keeps_days(mean_c) if own_days is None else own_days
    if age >= keeps:
        return OLD
    return HURRY if age >= int(keeps * warn_share()) else FRESH


def words(milled_on: date, day: date, mean_c: float | None = None, own_days: int | None = None) -> Phrase:
    """Return what to do about feed of this age. It is a rule of thumb: the date on the bag comes first."""
    keeps = milled_on + timedelta(days=keeps_days(mean_c) if own_days is None else own_days)
    found = state(milled_on, day, mean_c, own_days)
    if found == OLD:
        return Phrase(
            N_(
                "Too old since %(day)s: vitamins fade, and fat turns rancid."
                " Smell and look before you feed it; never feed mould."
            ),
            {"day": keeps},
        )
    if found == HURRY:
        return Phrase(N_("Use this first: it keeps until %(day)s."), {"day": keeps})
    return Phrase(N_("Keeps until %(day)s, dry and cool."), {"day": keeps})
