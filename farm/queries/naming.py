"""What a batch is called in a sentence: "40 layer chicks hatched 12 April"."""

from __future__ import annotations

from django.utils.translation import gettext as _

from farm.models import Batch, Farm
from farm.phrase import N_, Phrase
from farm.trade import species


def describe(batch: Batch, birds: int) -> Phrase:
    """Return the batch as a keeper would call it, with `birds` of them."""
    one, many = species.young(batch.species, batch.type)
    young = Phrase(one, {"birds": birds}, many, "birds")
    return Phrase(
        N_("%(birds)d %(young)s hatched %(day)s"), {"birds": birds, "young": young, "day": batch.hatch_day}
    )


def next_free(farm: Farm) -> str:
    """Return a name for a new batch that none of the farm's has: "Batch 3"."""
    taken = {name.casefold() for name in Batch.objects.filter(farm=farm).values_list("name", flat=True)}
    number = len(taken) + 1
    while (_("Batch %(number)d") % {"number": number}).casefold() in taken:
        number += 1
    return _("Batch %(number)d") % {"number": number}
