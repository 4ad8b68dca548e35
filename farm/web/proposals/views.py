"""The page of one proposal."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import render
from django.views.decorators.http import require_safe

from farm.models import SettingProposal
from farm.models.member import Role
from farm.queries import setting_proposals
from farm.web.access import FarmRequest, farm_page
from farm.web.proposals import cards, wording
from farm.web.proposals.forms import AdoptForm


@require_safe
@farm_page(Role.KEEPER)
def page(request: FarmRequest, proposal: str) -> HttpResponse:
    """Show what was proposed, why, and what stays unmet; as long as the farm is as it was, it can be adopted."""
    found = setting_proposals.by_code(request.visit.farm.pk, proposal)
    return render(request, "web/proposals/page.html", context(request, found))


def context(request: FarmRequest, found: SettingProposal, form: AdoptForm | None = None) -> dict[str, Any]:
    """Return what the template of a proposal reads. form: as it was posted and refused."""
    farm = request.visit.farm
    content = setting_proposals.content(found)
    changed = []
    if found.adoption_id is None:
        changed = setting_proposals.changed_since(found, content.entry)
    if found.adoption_id is not None or changed:
        form = None
    elif form is None:
        made = content.proposal
        form = AdoptForm(farm=farm, proposal=made, initial=AdoptForm.opening(made))
    lines = cards.lines_of(farm, content)
    standing = cards.standing(content, lines)
    return {
        "proposal": found,
        "content": content,
        "summary": wording.summary(content.proposal) if content.proposal.lines else "",
        "cards": cards.cards(farm, content, lines, form),
        "unmet": [line for line in standing if line.short],
        "met": [line for line in standing if not line.short],
        "form": form,
        "changed": changed,
        "undone": found.adoption is not None and hasattr(found.adoption, "undone_by"),
    }
