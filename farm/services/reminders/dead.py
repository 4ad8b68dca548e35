"""What did not reach people: a keeper has it tried again, or lets it be."""

from __future__ import annotations

from datetime import timedelta

from django.db import transaction
from django.utils.translation import gettext as _

from farm import dispatch
from farm.errors import BadInput
from farm.models import Delivery, Notice
from farm.models.member import Role
from farm.models.notice import DeliveryState
from farm.queries import lookup
from farm.services import locks
from farm.services.actor import Actor

#: A message somebody asks for again is of use for this long at least. Project default (judgement).
USE = timedelta(hours=1)


def try_again(by: Actor, *, delivery_id: int) -> None:
    """Have a message sent that was given up or came too late. Raises NotAllowed, NotFound, BadInput."""
    by.require(Role.KEEPER)
    with transaction.atomic():
        row = _undelivered(by, delivery_id)
        Notice.objects.filter(pk=row.notice_id, expires_at__lt=by.now + USE).update(expires_at=by.now + USE)
        # It may have been lost in the middle once: claimed_at stays and says so.
        row.state, row.tries, row.next_try_at, row.error = DeliveryState.WAITING, 0, by.now, ""
        row.save(update_fields=["state", "tries", "next_try_at", "error"])
        dispatch.after_commit("send_waiting", farm_id=by.farm_id)


def give_up(by: Actor, *, delivery_id: int) -> None:
    """Take a message that did not go out off the list. Raises NotAllowed, NotFound, BadInput."""
    by.require(Role.KEEPER)
    with transaction.atomic():
        _undelivered(by, delivery_id).delete()


def _undelivered(by: Actor, delivery_id: int) -> Delivery:
    locks.farm(by.farm_id)
    row = lookup.get(Delivery, farm_id=by.farm_id, pk=delivery_id)
    if row.state not in (DeliveryState.DEAD, DeliveryState.LATE):
        raise BadInput.at("", _("This message is on its way, or has arrived."))
    return row
