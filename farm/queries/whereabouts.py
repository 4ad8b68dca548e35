"""Where housings and machines of a farm stand, in the keepers' own words."""

from __future__ import annotations

from farm.models import Farm, Housing, Machine


def known(farm: Farm) -> list[str]:
    """Return the words in use, so that the same place is called the same again. Two queries."""
    found: set[str] = set()
    for model in (Housing, Machine):
        found |= set(model._default_manager.filter(farm=farm).values_list("whereabouts", flat=True))
    return sorted(found - {""}, key=str.casefold)
