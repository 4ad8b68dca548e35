"""What a change of a stay would do, before it is saved: carried out in full, looked at, and taken back."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from typing import Any

from farm.models import Housing, Stay
from farm.queries.outlook import Trial
from farm.services import trials
from farm.web.access import FarmRequest
from farm.web.mishaps import shown_in
from farm.web.stays.forms import StayForm

#: A band is dragged no further than this. Project default (judgement).
_FARTHEST_DAYS = 400


def look(request: FarmRequest, form: StayForm, act: Callable[[], object]) -> Trial | None:
    """Return what `act`, which saves the form, would do; None when it is refused, with the reasons in the form."""
    trial = None
    if form.is_valid():
        with shown_in(form):
            trial = trials.run(request.visit.by, act)
    return trial


def dragged(stay: Stay, request: FarmRequest) -> dict[str, Any]:
    """Return a stay's values as the address asks to change them: `shift` by days, `housing` by its number.

    What cannot be read changes nothing.
    """
    values = StayForm.stored(stay)
    try:
        days = timedelta(days=max(-_FARTHEST_DAYS, min(int(request.GET.get("shift", "0")), _FARTHEST_DAYS)))
    except ValueError:
        days = timedelta(0)
    housing = request.GET.get("housing", "")[:18]
    if housing.isdecimal() and Housing.objects.filter(farm_id=stay.farm_id, pk=housing).exists():
        values["housing_id"] = int(housing)
    if stay.start > request.visit.by.today:  # what has begun began when it did
        values["start"] = stay.start + days
    if stay.end is not None:
        values["end"] = stay.end + days
    return values
