"""Whether birds may be sold or processed while days to wait after a medicine run. The days are the keeper's own."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from farm.errors import BadInput
from farm.husbandry.feeding import waiting
from farm.models import Batch
from farm.models.count_entry import CountKind
from farm.models.member import Role
from farm.queries import waits
from farm.services.actor import Actor
from farm.wording import say

#: What must not be eaten when birds go. Whoever buys a live hen may eat both.
_FORBIDS = {
    CountKind.SOLD: (waiting.MEAT, waiting.EGGS),
    CountKind.PROCESSED: (waiting.MEAT,),
}


def check(by: Actor, batch: Batch, kind: str, day: date, reason: str) -> str:
    """Return the reason to keep with the line: "" when nothing forbids that the birds go.

    Raises BadInput at override_reason when days to wait are not over and no reason is given, NotAllowed when somebody
    gives one who is no keeper.
    """
    known = waits.of(batch)
    found = [
        wait
        for product in _FORBIDS.get(CountKind(kind), ())
        if (wait := waiting.holding(known, batch.pk, product, day)) is not None
    ]
    if not found:
        return ""
    if not reason.strip():
        longest = max(found, key=lambda wait: wait.first_allowed)
        text = _("%(refusal)s If they must go all the same, a keeper writes the reason.")
        raise BadInput.at("override_reason", text % {"refusal": say(waiting.refusal(longest))})
    by.require(Role.KEEPER)
    return reason.strip()
