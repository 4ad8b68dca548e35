"""The question box: what is asked in the address, answered at once."""

from __future__ import annotations

from typing import Any

from farm.planning.changes import Change
from farm.queries import asking, kinds
from farm.queries.asking import Asked
from farm.web.access import FarmRequest
from farm.web.plan import trying
from farm.web.plan.forms import AskForm


def box(request: FarmRequest, chosen: str) -> dict[str, Any]:
    """Return the question's form and, when a day is asked about, its answer with the change that would try it."""
    form = _form(request)
    if form is None:
        farm, today = request.visit.farm, request.visit.by.today
        return {
            "ask": AskForm(farm=farm, today=today, initial={"type": chosen, "day": today}),
            "answer": None,
        }
    answer = _answer(request, form) if form.is_valid() else None
    found: dict[str, Any] = {"ask": form, "answer": answer}
    if answer is not None:
        found["sealed"] = trying.sealed(request.visit.farm.pk, _trial(answer))
    return found


def asked(request: FarmRequest) -> Asked | None:
    """Return the answer to what an address asks, None where it does not ask properly."""
    form = _form(request)
    return _answer(request, form) if form is not None and form.is_valid() else None


def _form(request: FarmRequest) -> AskForm | None:
    if not request.GET.get("day"):
        return None
    return AskForm(request.GET, farm=request.visit.farm, today=request.visit.by.today)


def _answer(request: FarmRequest, form: AskForm) -> Asked:
    farm, today = request.visit.farm, request.visit.by.today
    choice, day = form.cleaned_data["type"], form.cleaned_data["day"]
    species = kinds.of(farm, choice, day).species
    now = asking.adopted(farm, today, until=day, species=[species])
    batch = trying.joining(farm, now.problem, choice, day)
    return asking.ask(now, batch, day, form.cleaned_data["birds"] or 0)


def _trial(answer: Asked) -> list[Change]:
    return [] if answer.change is None else [answer.change]
