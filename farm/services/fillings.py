"""Birds handed over to the line of an order, and taken back when that was a mistake."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm import dispatch
from farm.models import Batch, Filling, OrderLine
from farm.models.count_entry import CountKind
from farm.models.member import Role
from farm.queries import lookup
from farm.services import counts, hand_over_rules, order_state, wait_rules
from farm.services.actor import Actor
from farm.services.writing import write


def hand_over(
    by: Actor,
    *,
    line_id: int,
    batch_id: int,
    birds: int,
    day: date,
    anyway: bool = False,
    override_reason: str = "",
    client_key: str = "",
) -> Filling:
    """Give birds of a batch to a confirmed order's line; the ledger of the batch says "sold".

    anyway: also birds that orders before this one are meant to get; keepers only. override_reason: why they go
    before days to wait after a medicine are over; keepers only. client_key: a device's own key; the same key again
    returns the first hand-over and writes nothing. The order is filled when all its lines are. Raises BadInput at
    line_id, batch_id, birds, day or override_reason, saying what is left.
    """
    with write(by, "hand over", role=Role.KEEPER if anyway else Role.HELPER) as log:
        known = (
            client_key
            and Filling.objects.filter(farm_id=by.farm_id, count_entry__client_key=client_key).first()
        )
        if known:
            return known
        line = lookup.get(OrderLine, farm_id=by.farm_id, pk=line_id)
        batch = lookup.get(Batch, farm_id=by.farm_id, pk=batch_id)
        hand_over_rules.check(line, batch, birds, day, by.today, anyway=anyway)
        reason = wait_rules.check(by, batch, CountKind.SOLD, day, override_reason)
        entry = counts.add_in(
            log,
            batch,
            kind=CountKind.SOLD,
            birds=birds,
            day=day,
            override_reason=reason,
            client_key=client_key,
        )
        filling = Filling(
            farm=log.farm,
            line=line,
            batch=batch,
            birds=birds,
            day=day,
            count_entry=entry,
            member=by.member,
            created_at=by.now,
        )
        log.add(filling)
        order_state.settle(log, line.order)
        log.says(line.order, describe(filling))
        dispatch.after_commit("propose_after", farm_id=by.farm_id, why="losses")
    return filling


def take_back(by: Actor, *, filling_id: int) -> None:
    """Take a hand-over back: the birds are in the ledger of their batch again, and an order that lacks them opens."""
    with write(by, "take back", role=Role.HELPER) as log:
        filling = lookup.get(Filling, farm_id=by.farm_id, pk=filling_id)
        log.says(filling.line.order, _("Taken back: %(what)s") % {"what": describe(filling)})
        counts.reverse_in(log, filling.count_entry)


def describe(filling: Filling) -> str:
    """Return the hand-over in words, for the history."""
    return ngettext(
        "%(birds)d bird of %(batch)s handed over to %(customer)s",
        "%(birds)d birds of %(batch)s handed over to %(customer)s",
        filling.birds,
    ) % {"birds": filling.birds, "batch": filling.batch, "customer": filling.line.order}
