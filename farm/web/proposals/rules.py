"""The farm's rules for proposals."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods

from farm.models.member import Role
from farm.services import ordering_rules
from farm.web.access import FarmRequest, farm_page
from farm.web.mishaps import shown_in
from farm.web.proposals.forms import RulesForm


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def page(request: FarmRequest) -> HttpResponse:
    """Show and change how sure, on which days, and what weighs how much."""
    form = RulesForm(
        request.POST if request.method == "POST" else None,
        initial=RulesForm.stored(ordering_rules.get(request.visit.farm)),
        farm=request.visit.farm,
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            ordering_rules.change(request.visit.by, expected_version=form.seen_version, **form.rules)
        if form.is_valid():
            messages.success(request, _("Saved. The next proposal goes by these rules."))
            return redirect("propose")
    return render(request, "web/proposals/rules.html", {"form": form})
