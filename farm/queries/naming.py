"""What a batch is called in a sentence: "40 layer chicks hatched 12 April"."""

from __future__ import annotations

from farm.models import Batch
from farm.phrase import N_, Phrase
from farm.trade import species


def describe(batch: Batch, birds: int) -> Phrase:
    """Return the batch as a keeper would call it, with `birds` of them."""
    one, many = species.young(batch.species, batch.type)
    young = Phrase(one, {"birds": birds}, many, "birds")
    return Phrase(
        N_("%(birds)d %(young)s hatched %(day)s"), {"birds": birds, "young": young, "day": batch.hatch_day}
    )
