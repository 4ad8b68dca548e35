"""Ticks: what was done or left out of the agenda."""

from __future__ import annotations

from datetime import date, timedelta

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import ChoreMark
from farm.models.chore_mark import MarkState, Round
from farm.models.member import Role
from farm.services.actor import Actor
from farm.services.writing import write

EARLY_DAYS = 7  # how far ahead a chore may be ticked; project default (judgement)


def mark(
    by: Actor,
    *,
    source: str,
    due: date,
    round: str,
    title: str,
    state: str = MarkState.DONE,
    note: str = "",
    client_key: str = "",
) -> ChoreMark:
    """Mark one occurrence done or skipped. Marking it twice is one mark: the first stands, a note is added to it.

    Raises BadInput for a day too far ahead.
    """
    with write(by, "tick", role=Role.CHILD) as log:
        if state not in MarkState.values or round not in Round.values or not source:
            raise BadInput.at("", _("This chore is not known. Open the page again."))
        if due > by.today + timedelta(days=EARLY_DAYS):
            raise BadInput.at("due", _("This is not due for a while; tick it when it is done."))
        known = ChoreMark.objects.filter(farm=log.farm, source=source, due=due, round=round).first()
        if known is None:
            known = ChoreMark(
                farm=log.farm,
                source=source,
                due=due,
                round=round,
                state=state,
                title=title[:200],
                note=note.strip(),
                member=by.member,
                client_key=client_key,
                at=by.now,
            )
            log.add(known)
            log.says(known, f"{title}: {MarkState(state).label}")
        elif note.strip() and note.strip() not in known.note:
            log.change(known, note=f"{known.note}\n{note.strip()}".strip()[:500])
            log.says(known, _("%(title)s: note added") % {"title": title})
    return known


def unmark(by: Actor, *, source: str, due: date, round: str) -> None:
    """Take a mark back, so that the chore is open again. Nothing happens when there is none."""
    with write(by, "untick", role=Role.CHILD) as log:
        known = ChoreMark.objects.filter(farm=log.farm, source=source, due=due, round=round).first()
        if known is not None:
            log.says(known, _("%(title)s: open again") % {"title": known.title})
            log.remove(known)
