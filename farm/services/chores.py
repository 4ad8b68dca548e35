"""Ticks: what was done or left out of the agenda."""

from __future__ import annotations

import re
from datetime import date, timedelta

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.models import ChoreMark, OwnChore
from farm.models.chore_mark import MarkState, Round
from farm.models.member import Role
from farm.models.own_chore import Who
from farm.services.actor import Actor
from farm.services.writing import write
from farm.trade import chores as table

_OWN = re.compile(r"own:(\d{1,18})/")
EARLY_DAYS = 7  # how far ahead a chore may be ticked; project default (judgement)


def least_role(source: str, farm_id: int) -> str:
    """Return the least role that may tick an occurrence of `source` ("room:3/feed_water"): child only where the chore
    table, or the keeper for a chore of their own, lets a child help."""
    own = _OWN.match(source)
    if own is not None:
        for_children = OwnChore.objects.filter(farm_id=farm_id, pk=int(own[1]), who=Who.CHILD).exists()
        return Role.CHILD if for_children else Role.HELPER
    known = table.chores().get(source.split("/")[1] if "/" in source else "")
    return Role.CHILD if known is not None and known.who == "child" else Role.HELPER


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
    minutes: int = 0,
) -> ChoreMark:
    """Mark one occurrence done or skipped. Marking it twice is one mark: the first stands, a note is added to it.

    client_key: a device's own key; the same key again returns the first mark and writes nothing. minutes: what it is
    reckoned to take, which counts for the fairness of the rota. Raises BadInput for a day too far ahead, NotAllowed for
    a child and a chore that no child may do.
    """
    with write(by, "tick", role=least_role(source, by.farm_id)) as log:
        sent = client_key and ChoreMark.objects.filter(farm=log.farm, client_key=client_key).first()
        if sent:
            return sent
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
                title=title.strip()[:200],
                note=note.strip()[:500],
                member=by.member,
                client_key=client_key,
                minutes=minutes,
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
    with write(by, "untick", role=least_role(source, by.farm_id)) as log:
        known = ChoreMark.objects.filter(farm=log.farm, source=source, due=due, round=round).first()
        if known is not None:
            log.says(known, _("%(title)s: open again") % {"title": known.title})
            log.remove(known)
