"""Which birds are meant for which order line, how sure that is, and what is over.

    allotment = allot(supplies, wanted, today)
    allotment.lines["12"].chance, allotment.shares, allotment.spare, allotment.by_day(window)

What is exact: the fills are the most whole birds line by line in order of rank, within limits that count a batch's
birds at their mean, rounded down, with the losses of birds kept for later set aside (`room`); the odds are exact
along each batch's days (`chain`). What is approximated: where sexes are asked for, the females and males of one
batch count as independent (`pool`); losses are set aside for the most birds a batch may have to keep for the lines
served, so a little less than could be may be promised, never more (`room`); large groups of lines and batches may
be split over more batches than need be (`splits`).

Where to look: records · pool (who may get what, and when) · room network flow (how many) · splits (from which batch)
· chain (odds) · reasons · days · by_hand · allotment.
"""

from farm.planning.allotments.allotment import Allotment, allot, free_birds
from farm.planning.allotments.records import DayRow, Hold, Lack, LineOdds, Share, SpareOdds, Supply, Wanted

__all__ = [
    "Allotment",
    "DayRow",
    "Hold",
    "Lack",
    "LineOdds",
    "Share",
    "SpareOdds",
    "Supply",
    "Wanted",
    "allot",
    "free_birds",
]
