"""Time zones to choose from, and the field they are typed in."""

from __future__ import annotations

from functools import cache
from typing import Any

from django import forms
from django.utils.translation import gettext_lazy as _

from farm.queries import zone_names

_PLACES = (
    "Africa",
    "America",
    "Antarctica",
    "Arctic",
    "Asia",
    "Atlantic",
    "Australia",
    "Europe",
    "Indian",
    "Pacific",
)
ZONE_LIST = "zones"


@cache
def suggested() -> tuple[str, ...]:
    """Return the zones named after a place, by name. Others are accepted, but only confuse in a list."""
    return tuple(sorted(name for name in zone_names.known() if name.partition("/")[0] in _PLACES))


def is_zone(typed: str) -> bool:
    """Say whether `typed` means a zone, however it is spelt."""
    return _known(typed) is not None


def _known(typed: str) -> str | None:
    return _by_letters().get(typed.strip().replace(" ", "_").casefold())


@cache
def _by_letters() -> dict[str, str]:
    return {name.casefold(): name for name in zone_names.known()}


class ZoneField(forms.CharField):
    """A zone typed with suggestions from the page's list (`web/parts/zones.html`); the service judges it."""

    def __init__(self, **kwargs: Any) -> None:
        attrs = {"list": ZONE_LIST, "autocomplete": "off", "spellcheck": "false"}
        kwargs.setdefault("label", _("Time zone"))
        kwargs.setdefault("help_text", _("Type the nearest large city, for example Europe/Berlin."))
        kwargs.setdefault("max_length", 64)
        super().__init__(widget=forms.TextInput(attrs=attrs), **kwargs)

    def clean(self, value: Any) -> str:
        """Return the zone as it is spelt in the list, so that `europe/berlin` and a blank for `_` will do."""
        typed = super().clean(value)
        return _known(typed) or typed
