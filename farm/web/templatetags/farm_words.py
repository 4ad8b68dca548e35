"""Numbers, phrases and ages in templates, in the farm's units and the reader's language."""

from __future__ import annotations

from datetime import date

from django import template
from django.utils.translation import gettext, ngettext

from farm import units, wording
from farm.phrase import Phrase, Quantity

register = template.Library()


@register.simple_tag(takes_context=True)
def say(context: template.Context, phrase: Phrase) -> str:
    """Say a phrase in the farm's units."""
    return wording.say(phrase, _system(context))


@register.simple_tag(takes_context=True)
def quantity(context: template.Context, value: float, unit: str, digits: int = 1) -> str:
    """Show an SI number in the farm's units, with the unit."""
    return wording.quantity(Quantity(value, unit, digits), _system(context))


@register.simple_tag(takes_context=True)
def amount(context: template.Context, value: Quantity | int) -> str:
    """Show a whole count, or a quantity in the farm's units with its unit."""
    return str(wording.word(value, _system(context)))


@register.simple_tag(takes_context=True)
def unit_label(context: template.Context, unit: str) -> str:
    """Show a unit's label in the farm's system."""
    return units.label(unit, _system(context))


@register.filter
def age(hatch_day: date, today: date) -> str:
    """Say an age in weeks and days: "5 weeks 2 days"; before hatch: "hatches in 3 days"."""
    days = (today - hatch_day).days
    if days < 0:
        return ngettext("hatches in %(n)d day", "hatches in %(n)d days", -days) % {"n": -days}
    weeks, rest = divmod(days, 7)
    parts = []
    if weeks:
        parts.append(ngettext("%(n)d week", "%(n)d weeks", weeks) % {"n": weeks})
    if rest or not weeks:
        parts.append(ngettext("%(n)d day", "%(n)d days", rest) % {"n": rest})
    return " ".join(parts)


@register.filter
def spell(minutes: int) -> str:
    """Say minutes as a person plans them: "45 min", "4 h 53 min"."""
    hours, rest = divmod(minutes, 60)
    if not hours:
        return gettext("%(rest)d min") % {"rest": rest}
    if not rest:
        return gettext("%(hours)d h") % {"hours": hours}
    return gettext("%(hours)d h %(rest)d min") % {"hours": hours, "rest": rest}


@register.filter
def translated(text: str) -> str:
    """Translate a table's text (trade tables mark theirs for the catalogue)."""
    return gettext(text) if text else ""


def _system(context: template.Context) -> str:
    farm = context.get("farm")
    return farm.units if farm is not None else units.METRIC
