"""Words about people in templates."""

from __future__ import annotations

from django import template

from farm.models import Away
from farm.services import aways

register = template.Library()


@register.filter
def days_away(away: Away) -> str:
    """Say the days somebody is away, the last one included: "3 May – 5 May"."""
    return aways.days(away)
