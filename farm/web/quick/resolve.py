"""Which birds a sentence is about: the farm's batches and places of that day, and what to ask when several fit."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import Batch, Farm, Housing
from farm.models.count_entry import GAINS
from farm.queries import heads, lookup
from farm.services import day_rules
from farm.web.quick.sentence import Sentence

Ask = Literal["batch", "from", "place"]


@dataclass(frozen=True, slots=True)
class Spot:
    """Birds of a batch in one housing on the day; housing None: without a place."""

    batch: Batch
    housing: Housing | None
    birds: int


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked back: the choices by their number, each with the birds it has."""

    ask: Ask
    choices: Sequence[tuple[str, str]]


@dataclass(frozen=True, slots=True)
class Target:
    """What a sentence is about, as numbers of the farm's records; `birds` of a move when all of them are meant."""

    batch: Batch | None
    housing: Housing | None
    to: Housing | None = None
    birds: int | None = None


def spots(farm: Farm, sentence: Sentence) -> list[Spot]:
    """Return where the farm's birds are on the day of the sentence, by batch and housing."""
    found: list[Spot] = []
    rows = Batch.objects.filter(farm=farm, arrived_on__lte=sentence.day)
    for batch in rows.prefetch_related("count_entries", "stays"):
        housed, free = heads.places_on(batch, sentence.day)
        by_housing: dict[int, tuple[Housing, int]] = {}
        for stay, birds in housed:
            by_housing[stay.housing_id] = (
                stay.housing,
                birds + by_housing.get(stay.housing_id, (None, 0))[1],
            )
        found += [Spot(batch, housing, birds) for housing, birds in by_housing.values()]
        if free:
            found.append(Spot(batch, None, free))
    return found


def resolve(farm: Farm, sentence: Sentence, answers: dict[Ask, str]) -> Target | Question:
    """Return what the sentence is about, or the question that decides it.

    answers: what was chosen for earlier questions, by number. Raises BadInput, for the whole form, when no birds fit.
    """
    there = spots(farm, sentence)
    wanted = sentence.batch or answers.get("batch", "")
    if wanted:
        there = [spot for spot in there if str(spot.batch.pk) == wanted]
    if sentence.housing:
        there = [spot for spot in there if spot.housing and str(spot.housing.pk) == sentence.housing]
    if sentence.verb == "see" and sentence.kind != "weight":
        return _place(farm, sentence, there, answers)
    if not there and sentence.kind in GAINS:
        there = _whole_batches(farm, sentence, wanted)
    if not there:
        raise BadInput.at("", _none(farm, sentence))
    batches = list({spot.batch.pk: spot for spot in there}.values())
    if len(batches) > 1:
        return Question("batch", [(str(spot.batch.pk), _said_of(spot.batch, there)) for spot in batches])
    return _move(farm, sentence, there, answers) if sentence.verb == "move" else _counted(sentence, there)


def _counted(sentence: Sentence, there: Sequence[Spot]) -> Target:
    return Target(there[0].batch, there[0].housing if sentence.housing else None)


def _move(
    farm: Farm, sentence: Sentence, there: Sequence[Spot], answers: dict[Ask, str]
) -> Target | Question:
    to = _housing(farm, sentence.to)
    from_ = [spot for spot in there if spot.housing is not None and spot.housing != to]
    chosen = answers.get("from")
    if chosen:
        from_ = [spot for spot in from_ if spot.housing and str(spot.housing.pk) == chosen]
    if not from_:
        text = _("No birds to move: %(batch)s has none in another housing on %(day)s.")
        raise BadInput.at("", text % {"batch": there[0].batch, "day": day_rules.shown(sentence.day)})
    if len(from_) > 1:
        return Question("from", [(str(spot.housing.pk), _said(spot)) for spot in from_ if spot.housing])
    return Target(from_[0].batch, from_[0].housing, to, sentence.birds or from_[0].birds)


def _place(
    farm: Farm, sentence: Sentence, there: Sequence[Spot], answers: dict[Ask, str]
) -> Target | Question:
    """An observation is of a place, and of the batch too when that one alone lives there."""
    if sentence.housing and not there:
        return Target(None, _housing(farm, sentence.housing))
    if answers.get("place"):
        there = [spot for spot in there if spot.housing and str(spot.housing.pk) == answers["place"]]
    housed = {spot.housing.pk: spot.housing for spot in there if spot.housing is not None}
    if len(housed) > 1:
        choices = []
        for pk, housing in housed.items():
            inside = [spot.batch.name for spot in there if spot.housing == housing]
            choices.append((str(pk), f"{housing} ({', '.join(inside)})"))
        return Question("place", choices)
    batches = {spot.batch.pk: spot.batch for spot in there}
    if not batches:
        raise BadInput.at("", _none(farm, sentence))
    only = next(iter(batches.values())) if len(batches) == 1 else None
    return Target(only, next(iter(housed.values()), None))


def _whole_batches(farm: Farm, sentence: Sentence, wanted: str) -> list[Spot]:
    """Birds may be found of a batch that has none left."""
    rows = Batch.objects.filter(farm=farm, arrived_on__lte=sentence.day)
    return [Spot(batch, None, 0) for batch in (rows.filter(pk=wanted) if wanted else rows)]


def _housing(farm: Farm, key: str | None) -> Housing:
    return lookup.get(Housing, farm_id=farm.pk, pk=key)


def _none(farm: Farm, sentence: Sentence) -> str:
    day = day_rules.shown(sentence.day)
    if sentence.housing:
        housing = _housing(farm, sentence.housing)
        return _("No such birds are in %(housing)s on %(day)s.") % {"housing": housing, "day": day}
    return _("There are no such birds on the farm on %(day)s.") % {"day": day}


def _said(spot: Spot) -> str:
    return _("%(housing)s (%(birds)d birds)") % {"housing": spot.housing, "birds": spot.birds}


def _said_of(batch: Batch, there: Sequence[Spot]) -> str:
    mine = [spot for spot in there if spot.batch.pk == batch.pk]
    places = ", ".join(str(spot.housing) for spot in mine if spot.housing) or _("without housing")
    birds = sum(spot.birds for spot in mine)
    return _("%(batch)s (%(birds)d birds, %(places)s)") % {"batch": batch, "birds": birds, "places": places}
