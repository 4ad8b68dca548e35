"""Ask first, then do: pages whose form has nothing to type, only a button that means it."""

from __future__ import annotations

from collections.abc import Callable

from farm.web.access import FarmRequest
from farm.web.forms import FarmForm
from farm.web.mishaps import shown_in


def ask_first(request: FarmRequest, act: Callable[[], object]) -> tuple[FarmForm, bool]:
    """Return the empty form of a page that asks, and whether it was sent and `act` was done.

    What a service refuses is shown in the form.
    """
    sent = request.method == "POST"
    form = FarmForm(request.POST if sent else None, farm=request.visit.farm)
    if not sent or not form.is_valid():
        return form, False
    with shown_in(form):
        act()
    return form, form.is_valid()
