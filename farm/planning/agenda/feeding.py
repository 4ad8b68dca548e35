"""Feed changes with their mixing days, and longer feeder and drinker edges."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from itertools import pairwise

from farm.husbandry import rations
from farm.phrase import N_, Phrase, Quantity
from farm.planning.agenda.ages import AgeStep
from farm.planning.agenda.records import AgendaBatch


def changes(batch: AgendaBatch) -> Iterator[AgeStep]:
    """Yield one step a feed change, its window the mixing days with the shares as a dated checklist."""
    for old, new in pairwise(batch.programme.feeds):
        *mix, (whole, _) = rations.mixing(new.day)
        checklist = tuple(
            Phrase(
                N_("From %(day)s: %(share)s %% %(new)s, the rest %(old)s"),
                {
                    "day": batch.hatch_day + timedelta(days=age),
                    "share": round(share * 100),
                    "new": new.feed,
                    "old": old.feed,
                },
            )
            for age, share in mix
        )
        alone = Phrase(
            N_("From %(day)s: %(new)s alone"),
            {"day": batch.hatch_day + timedelta(days=whole), "new": new.feed},
        )
        yield AgeStep(
            "feed_change",
            new.day,
            N_("%(room)s: change %(batch)s from %(old)s to %(new)s"),
            Phrase(
                N_(
                    "From day %(day)s of age %(protein)s g of protein a kg is right; %(days)s days of mixing"
                    " keep them eating."
                ),
                {"day": new.day, "protein": f"{new.protein_g_per_kg:g}", "days": whole - new.day},
            ),
            new.source,
            {"old": old.feed, "new": new.feed},
            last_day=whole - 1,
            window=True,
            checklist=(*checklist, alone),
        )


def edges(batch: AgendaBatch) -> Iterator[AgeStep]:
    """Yield one step each time a bird's share of feeder or drinker edge grows."""
    texts = {
        "feeder_cm": N_("%(room)s: feeder edge %(before)s → %(after)s a bird for %(batch)s"),
        "drinker_cm": N_("%(room)s: drinker edge %(before)s → %(after)s a bird for %(batch)s"),
    }
    for curve, text in texts.items():
        for before, after in pairwise(batch.programme.curves.get(curve, ())):
            if after.value > before.value:
                yield AgeStep(
                    "raise_edges",
                    after.day,
                    text,
                    Phrase(N_("All must be able to eat and drink at once, or the weakest fall behind.")),
                    after.source,
                    {"before": Quantity(before.value, "cm", bare=True), "after": Quantity(after.value, "cm")},
                    name=curve,
                )
