"""Asking what to set next, adopting the answer, and dropping it."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_POST

from farm.errors import BadInput, Stale
from farm.models import Order
from farm.models.member import Role
from farm.models.order import OrderStatus
from farm.queries import setting_proposals
from farm.services import proposals
from farm.web.access import FarmRequest, farm_page
from farm.web.mishaps import shown_in
from farm.web.proposals import views, wording
from farm.web.proposals.forms import AdoptForm

_RECENT = 8


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def propose(request: FarmRequest) -> HttpResponse:
    """Say what a proposal is, with those made before; when posted, make one and go to it."""
    if request.method == "POST":
        made = proposals.propose(request.visit.by)
        return redirect("proposal", proposal=made.code)
    farm = request.visit.farm
    recent = [
        (one, wording.summary(content.proposal) if content.proposal.lines else "")
        for one in setting_proposals.recent(farm, _RECENT)
        for content in [setting_proposals.content(one)]
    ]
    context = {
        "recent": recent,
        "any_order": Order.objects.filter(farm=farm, status=OrderStatus.CONFIRMED).exists(),
    }
    return render(request, "web/proposals/propose.html", context)


@require_POST
@farm_page(Role.KEEPER)
def adopt(request: FarmRequest, proposal: str) -> HttpResponse:
    """Make the egg sets and intakes of a proposal. What is refused is said at its fields, and nothing is written."""
    visit = request.visit
    found = setting_proposals.by_code(visit.farm.pk, proposal)
    form = AdoptForm(request.POST, farm=visit.farm, proposal=setting_proposals.content(found).proposal)
    refusal = ""
    if form.is_valid():
        with shown_in(form):
            try:
                entry = proposals.adopt(visit.by, code=proposal, edits=form.edits)
                text = _("%(adopted)s. The chicks are expected on the board.")
                messages.success(request, text % {"adopted": entry.summary})
                return redirect("hatching")
            except Stale as refused:
                refusal = str(refused)
    found.refresh_from_db()
    context = views.context(request, found, form) | {"refusal": refusal}
    return render(request, "web/proposals/page.html", context, status=409 if refusal else 422)


@require_POST
@farm_page(Role.KEEPER)
def drop(request: FarmRequest, proposal: str) -> HttpResponse:
    """Put a proposal aside."""
    try:
        proposals.drop(request.visit.by, code=proposal)
    except BadInput as refused:
        messages.error(request, str(refused))
        return redirect("proposal", proposal=proposal)
    messages.success(request, _("Dropped. Nothing on the farm was changed."))
    return redirect("propose")
