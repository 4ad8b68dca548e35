"""A proposal as its page shows it: a card for each egg set and intake, and how every order line would stand."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from django import forms
from django.utils.translation import gettext as _

from farm.models import Farm, Housing, Machine, OrderLine, Supplier
from farm.phrase import Phrase
from farm.planning.ordering import LineAnswer, ProposedIntake, ProposedSet
from farm.planning.ordering.codec import Content
from farm.planning.solution import PlanStay
from farm.queries import programmes, setting_proposals
from farm.web.orders import wording as order_wording
from farm.web.proposals import wording
from farm.web.proposals.forms import AdoptForm


@dataclass(frozen=True, slots=True)
class Card:
    """One egg set or intake. place: its machines or its supplier; begins: when the birds are there.

    stays: housing with the day they leave it. count, day, out: its fields, None where it can no longer be changed.
    """

    item: ProposedSet | ProposedIntake
    type: str
    place: str
    begins: date
    expected: str
    stays: tuple[tuple[str, date], ...]
    lines: tuple[OrderLine, ...]
    why: tuple[Phrase, ...]
    count: forms.BoundField | None = None
    day: forms.BoundField | None = None
    out: forms.BoundField | None = None

    @property
    def is_set(self) -> bool:
        """Say whether eggs are set, not chicks bought."""
        return isinstance(self.item, ProposedSet)

    @property
    def number(self) -> int:
        """Return the eggs or chicks."""
        return self.item.eggs if isinstance(self.item, ProposedSet) else self.item.birds

    @property
    def on(self) -> date:
        """Return the day eggs are set or chicks arrive."""
        return self.item.set_on if isinstance(self.item, ProposedSet) else self.item.day


@dataclass(frozen=True, slots=True)
class LineShown:
    """How a line would stand. line: None where its order is gone; short: "" where it would be met."""

    line: OrderLine | None
    wants: str
    stands: str
    short: str
    why: Phrase
    ways: tuple[Phrase, ...]


def cards(farm: Farm, content: Content, lines: Mapping[str, OrderLine], form: AdoptForm | None) -> list[Card]:
    """Return the cards, egg sets first, each by its day. form: None where nothing can be adopted any more."""
    names = _names(farm, content)
    made = content.proposal
    numbered: list[tuple[str, ProposedSet | ProposedIntake]] = [
        *((f"sets-{place}", one) for place, one in enumerate(made.sets)),
        *((f"intakes-{place}", each) for place, each in enumerate(made.intakes)),
    ]
    return [_card(lead, item, names, lines, form) for lead, item in numbered]


def standing(content: Content, lines: Mapping[str, OrderLine]) -> list[LineShown]:
    """Return how each line would stand, those that lack birds first, then by their first day."""
    found = sorted(
        content.proposal.lines.items(),
        key=lambda pair: (not pair[1].short_birds, _first(lines.get(pair[0])), int(pair[0])),
    )
    return [_line(lines.get(key), answer, lines, content.confidence) for key, answer in found]


@dataclass(frozen=True, slots=True)
class _Names:
    """What the keys of a proposal stand for now; things that are gone have none."""

    types: Mapping[str, str]
    machines: Mapping[str, str]
    suppliers: Mapping[str, str]
    housing: Mapping[str, str]


def _names(farm: Farm, content: Content) -> _Names:
    known = dict(programmes.choices(farm.pk))
    return _Names(
        types={kind: _(known.get(choice, choice)) for kind, choice in content.choices.items()},
        machines={str(row.pk): row.name for row in Machine.objects.filter(farm=farm)},
        suppliers={str(row.pk): row.name for row in Supplier.objects.filter(farm=farm)},
        housing={str(row.pk): row.name for row in Housing.objects.filter(farm=farm)},
    )


def _card(
    lead: str,
    item: ProposedSet | ProposedIntake,
    names: _Names,
    lines: Mapping[str, OrderLine],
    form: AdoptForm | None,
) -> Card:
    gone = _("no longer there")
    if isinstance(item, ProposedSet):
        places = dict.fromkeys((item.setter, item.hatcher))
        place = _(", then ").join(names.machines.get(key, gone) for key in places)
        why, begins, count = (item.why_day, item.why_eggs), item.hatch_day, "eggs"
    else:
        place = names.suppliers.get(item.supplier, gone)
        why, begins, count = (item.why, item.why_birds), item.day, "birds"
    return Card(
        item=item,
        type=names.types.get(item.type, item.type),
        place=place,
        begins=begins,
        expected=wording.expected(item),
        stays=tuple(_stay(stay, names.housing, gone) for stay in item.stays),
        lines=tuple(lines[key] for key in item.lines if key in lines),
        why=tuple(wording.named(phrase, lines) for phrase in why),
        count=form[f"{lead}-{count}"] if form else None,
        day=form[f"{lead}-day"] if form else None,
        out=form[f"{lead}-out"] if form else None,
    )


def _stay(stay: PlanStay, housing: Mapping[str, str], gone: str) -> tuple[str, date]:
    return housing.get(stay.housing or "", gone), stay.end


def _line(
    line: OrderLine | None, answer: LineAnswer, lines: Mapping[str, OrderLine], confidence: float
) -> LineShown:
    return LineShown(
        line=line,
        wants=order_wording.wants(line) if line else "",
        stands=wording.about(answer, order_wording.percent(answer.chance)),
        short=wording.short(answer, confidence) if answer.short_birds else "",
        why=wording.named(answer.why, lines),
        ways=tuple(wording.named(way.phrase, lines) for way in answer.ways),
    )


def _first(line: OrderLine | None) -> date:
    return line.from_on if line else date.max


def lines_of(farm: Farm, content: Content) -> dict[str, OrderLine]:
    """Return the lines a proposal is about, by key, those that are still there."""
    return setting_proposals.lines(farm, content.proposal.lines.keys())
