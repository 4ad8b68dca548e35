"""What to set next: proposed from the farm's orders, adopted in one write, or dropped."""

from __future__ import annotations

import secrets
from collections.abc import Mapping

from django.db import transaction
from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from farm.errors import BadInput, Stale
from farm.models import Farm, HistoryEntry, SettingProposal
from farm.models.member import Role
from farm.planning import ordering as planning
from farm.planning.ordering import codec
from farm.queries import ordering, setting_proposals
from farm.services import locks, proposed_items
from farm.services.actor import Actor
from farm.services.proposed_items import Edit
from farm.services.writing import write

__all__ = ["Edit", "adopt", "drop", "propose"]

# Typed from one screen into another: no letters or digits that look alike.
_CODE_ALPHABET, _CODE_LENGTH = "23456789abcdefghjkmnpqrstuvwxyz", 8
#: Proposals kept that nobody adopted: the older ones go when a new one is made. Project default (judgement).
KEPT = 8


def propose(by: Actor) -> SettingProposal:
    """Work out what to set and buy for the farm's orders as they are now. Nothing of the farm is changed.

    Takes a second or two at most (`queries.ordering.MOST_LINES`), outside any lock: what is written meanwhile counts as
    written since. Raises NotAllowed.
    """
    by.require(Role.KEEPER)
    asked = ordering.question(Farm.objects.get(pk=by.farm_id), by.today)
    content = codec.Content(
        proposal=planning.propose(asked.need),
        choices=asked.choices,
        covered=asked.covered,
        later=asked.later,
        confidence=asked.need.confidence,
        entry=asked.entry,
    )
    with transaction.atomic():
        farm = locks.farm(by.farm_id)
        loose = SettingProposal.objects.filter(farm=farm, adoption=None).values_list("pk", flat=True)
        SettingProposal.objects.filter(pk__in=list(loose[KEPT - 1 :])).delete()
        return SettingProposal.objects.create(
            farm=farm,
            code="".join(secrets.choice(_CODE_ALPHABET) for _place in range(_CODE_LENGTH)),
            content=codec.to_json(content),
            farm_version=asked.farm_version,
            made_by=by.member,
            made_at=by.now,
        )


def adopt(by: Actor, *, code: str, edits: Mapping[str, Edit] | None = None) -> HistoryEntry:
    """Make the egg sets and intakes of a proposal in one write, which undo takes back; each has its expected batch.

    edits: by key of a set or intake. Raises Stale with what changed when anything the proposal read was changed since;
    BadInput at the fields of single ones ("sets-0-eggs", "intakes-1-day"), or for the whole when nothing is left to
    make or it was adopted before; NotFound. Then nothing is saved.
    """
    with transaction.atomic():
        with write(by, "adopt proposal", role=Role.KEEPER) as log:
            proposal = setting_proposals.by_code(by.farm_id, code)
            content = setting_proposals.content(proposal)
            _refuse_adoption(proposal, content.entry)
            sets, intakes = proposed_items.make(log, content, edits or {})
            log.says(None, _said(sets, intakes))
        assert log.entry is not None
        proposal.adoption = log.entry
        proposal.save(update_fields=["adoption"])
    return log.entry


def drop(by: Actor, *, code: str) -> None:
    """Put a proposal aside for good. Raises BadInput for one that was adopted, NotFound."""
    by.require(Role.KEEPER)
    with transaction.atomic():
        locks.farm(by.farm_id)
        proposal = setting_proposals.by_code(by.farm_id, code)
        if proposal.adoption_id is not None:
            raise BadInput.at("", _("This proposal was adopted. Undo it in the history instead."))
        proposal.delete()


def _refuse_adoption(proposal: SettingProposal, entry: int) -> None:
    if proposal.adoption_id is not None:
        raise BadInput.at("", _("This proposal was adopted already. Ask for a new one."))
    changed = setting_proposals.changed_since(proposal, entry)
    if changed:
        raise Stale(
            _("The farm was changed since this was proposed. Nothing was written; propose again."),
            changes=changed,
        )


def _said(sets: int, intakes: int) -> str:
    eggs = ngettext("%(n)d egg set", "%(n)d egg sets", sets) % {"n": sets}
    chicks = ngettext("%(n)d intake", "%(n)d intakes", intakes) % {"n": intakes}
    made = _("%(sets)s and %(intakes)s") % {"sets": eggs, "intakes": chicks} if sets and intakes else ""
    return _("Proposal adopted: %(made)s") % {"made": made or (eggs if sets else chicks)}
