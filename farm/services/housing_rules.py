"""What must hold of a housing, and of the stays in it when its rules are tightened."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from datetime import date
from typing import Any

from django.utils.translation import gettext as _

from farm import wording
from farm.errors import BadInput
from farm.models import CountEntry, Housing, Observation, Stay
from farm.phrase import Quantity
from farm.services import batch_rules, day_rules
from farm.trade import species
from farm.trade.general import figure

#: Accepted numbers, lowest and highest: project default (judgement).
RANGES: Mapping[str, tuple[float, float]] = {
    "feeder_cm": (0, 100_000),
    "drinker_cm": (0, 100_000),
    "rest_days": (0, 365),
    "max_age_gap_days": (0, 60),
}
LARGEST_M2 = 5000
_FAR_DAYS = 20 * 366

Problems = dict[str, list[object]]


def tidied(fields: Mapping[str, Any]) -> dict[str, Any]:
    """Return the fields as they are stored: words without needless spaces, so that one place has one name."""
    tidy = {"name": str.strip, "whereabouts": lambda words: " ".join(words.split())}
    return {name: tidy[name](value) if name in tidy else value for name, value in fields.items()}


def check(housing: Housing, fields: Mapping[str, Any], today: date) -> None:
    """Raise BadInput, all fields at once, for values a housing cannot have. `fields` are those just typed."""
    problems = _numbers(fields, housing.farm.units) | _days(housing, fields, today)
    if "name" in fields:
        problems |= _name(housing, fields["name"].strip())
    unknown = set(fields.get("species") or ()) - set(species.species())
    if unknown:
        problems["species"] = [_("Unknown species: %(names)s.") % {"names": ", ".join(sorted(unknown))}]
    if problems:
        raise BadInput(problems)


def check_unused(housing: Housing) -> None:
    """Raise BadInput when anything is recorded of the housing: its history would lose where it was."""
    if Stay.objects.filter(housing=housing).exists():
        raise BadInput.at("", _("Birds live or lived here. Set the day it goes out of use instead."))
    for model in (CountEntry, Observation):
        if model._default_manager.filter(housing=housing).exists():
            raise BadInput.at("", _("There are records of it. Set the day it goes out of use instead."))


def check_still_possible(stay: Stay, today: date, *, moved: Collection[str]) -> None:
    """Raise BadInput, at the field that was tightened, when a stay breaks a housing's new rule from today on.

    One batch at a time is judged for past days too: the database holds it for all of them. moved: names of the fields
    that are being changed; the others are as they were and are not judged again.
    """
    rules: tuple[tuple[str, str, Callable[[], None]], ...] = (
        ("species", "species", lambda: batch_rules.check_species(stay, today)),
        ("in_service_from", "in_service_from", lambda: batch_rules.check_service(stay, today)),
        ("in_service_to", "in_service_to", lambda: batch_rules.check_service(stay, today)),
        ("heated", "heated", lambda: batch_rules.check_heat(stay, today)),
        ("one_batch", "one_batch", lambda: batch_rules.check_neighbours(stay)),
    )
    for name, place, judge in rules:
        if name not in moved or (name == "one_batch" and not stay.housing.one_batch):
            continue
        try:
            judge()
        except BadInput as refused:
            texts = [f"{stay.batch}: {text}" for found in refused.fields.values() for text in found]
            raise BadInput({_service_field(place, refused): texts}) from refused


def _service_field(place: str, refused: BadInput) -> str:
    """Both ends of the service are judged at once; what was refused says which."""
    return {"start": "in_service_from", "end": "in_service_to"}.get(next(iter(refused.fields)), place)


def _numbers(fields: Mapping[str, Any], system: str) -> Problems:
    problems: Problems = {}
    for name, (low, high) in RANGES.items():
        # `not within` rather than `outside`: it refuses what is not a number too.
        if name in fields and not low <= fields[name] <= high:
            problems[name] = [
                _("Enter a number from %(low)d to %(high)d.") % {"low": int(low), "high": int(high)}
            ]
    if fields.get("supplement_c") is not None:
        problems |= _supplement(fields["supplement_c"], system)
    if "area_m2" in fields and not 0 < fields["area_m2"] <= LARGEST_M2:
        most = wording.quantity(Quantity(LARGEST_M2, "m2", 0), system)
        problems["area_m2"] = [_("Enter a floor area above 0, at most %(most)s.") % {"most": most}]
    return problems


def _supplement(value: float, system: str) -> Problems:
    """A shelter much warmer than outside is a slip: heat is told by its own box."""
    highest = figure("outdoors", "shelter_most_c")
    if 0 <= value <= highest:
        return {}
    ends = (wording.quantity(Quantity(end, "delta_degC", 0), system) for end in (0, highest))
    text = _("Enter a number from %(low)s to %(high)s, or nothing.")
    return {"supplement_c": [text % dict(zip(("low", "high"), ends, strict=True))]}


def _days(housing: Housing, fields: Mapping[str, Any], today: date) -> Problems:
    problems: Problems = {}
    for name in ("in_service_from", "in_service_to"):
        day = fields.get(name)
        if day is not None and abs((day - today).days) > _FAR_DAYS:
            problems[name] = [_("%(day)s cannot be right. Check the year.") % {"day": day_rules.shown(day)}]
    first = fields.get("in_service_from", housing.in_service_from)
    last = fields.get("in_service_to", housing.in_service_to)
    if first is not None and last is not None and last <= first and not problems:
        problems["in_service_to"] = [_("It must be in use for at least a day: enter a later day.")]
    return problems


def _name(housing: Housing, name: str) -> Problems:
    if not name:
        return {"name": [_("Give the housing a name.")]}
    others = Housing.objects.filter(farm_id=housing.farm_id, name=name).exclude(pk=housing.pk)
    return {"name": [_("Another housing already has this name.")]} if others.exists() else {}
