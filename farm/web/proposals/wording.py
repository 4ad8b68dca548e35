"""Proposals in words, in the reader's language."""

from __future__ import annotations

import math
from collections.abc import Mapping

from django.utils.formats import number_format
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.models import OrderLine
from farm.phrase import Phrase
from farm.planning.ordering import LineAnswer, Proposal, ProposedIntake, ProposedSet


def summary(proposal: Proposal) -> str:
    """Return a proposal in one sentence: "3 egg sets and 1 intake would meet 5 of 6 order lines"."""
    lines = len(proposal.lines)
    met = sum(not line.short_birds for line in proposal.lines.values())
    if not proposal.batches:
        text = ngettext(
            "Nothing that can be set or bought now would meet %(n)d order line that lacks birds.",
            "Nothing that can be set or bought now would meet any of %(n)d order lines that lack birds.",
            lines,
        )
        return text % {"n": lines}
    text = ngettext(
        "%(made)s would meet %(met)d of %(lines)d order line that lacks birds.",
        "%(made)s would meet %(met)d of %(lines)d order lines that lack birds.",
        lines,
    )
    return text % {"made": made(len(proposal.sets), len(proposal.intakes)), "met": met, "lines": lines}


def made(sets: int, intakes: int) -> str:
    """Return so many egg sets and intakes in words."""
    eggs = ngettext("%(n)d egg set", "%(n)d egg sets", sets) % {"n": sets}
    chicks = ngettext("%(n)d intake", "%(n)d intakes", intakes) % {"n": intakes}
    if sets and intakes:
        return _("%(sets)s and %(intakes)s") % {"sets": eggs, "intakes": chicks}
    return eggs if sets else chicks


def expected(one: ProposedSet | ProposedIntake) -> str:
    """Return the birds to expect of a set or intake."""
    birds = number_format(math.ceil(round(one.expected, 6)), use_l10n=True)  # as its batch will have them
    if isinstance(one, ProposedIntake):
        return _("about %(birds)s alive on arrival") % {"birds": birds}
    numbers = {"birds": birds, "low": one.low, "high": one.high}
    return _("about %(birds)s chicks; 8 hatches in 10 give %(low)d to %(high)d") % numbers


def short(answer: LineAnswer, confidence: float) -> str:
    """Return how many birds of a line cannot be promised: "10 of 10 birds are not sure enough (90 % asked for)"."""
    text = ngettext(
        "%(short)d of %(wanted)d bird is not sure enough (%(sure)d %% asked for)",
        "%(short)d of %(wanted)d birds are not sure enough (%(sure)d %% asked for)",
        answer.wanted,
    )
    return text % {"short": answer.short_birds, "wanted": answer.wanted, "sure": round(100 * confidence)}


def about(answer: LineAnswer, percent: str) -> str:
    """Return what a line may count on."""
    numbers = {
        "birds": number_format(round(answer.expected, 1), use_l10n=True),
        "wanted": answer.wanted,
        "percent": percent,
    }
    return _("expected %(birds)s of %(wanted)d; all of them with %(percent)s") % numbers


def named(phrase: Phrase, lines: Mapping[str, OrderLine]) -> Phrase:
    """Return a phrase with the customer's name where a proposal has the key of a line."""
    if "line" not in phrase.values:
        return phrase
    line = lines.get(str(phrase.values["line"]))
    name = line.order.customer if line else _("an order that is gone")
    return Phrase(phrase.text, {**phrase.values, "line": name}, phrase.plural, phrase.count)
