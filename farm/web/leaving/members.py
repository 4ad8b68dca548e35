"""Those who have left, and forgetting one of them."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.http import require_http_methods, require_safe

from farm.models import Member
from farm.models.member import Role
from farm.queries import lookup
from farm.services.farewell import members
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first


@require_safe
@farm_page(Role.KEEPER)
def listing(request: FarmRequest) -> HttpResponse:
    """List those who have left and are remembered by name."""
    return render(request, "web/leaving/left.html", {"left": members.left(request.visit.farm.pk)})


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def forget(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, saying what goes and what stays, then forget a member; one who is there has to leave first."""
    member = lookup.get(Member, farm_id=request.visit.farm.pk, pk=pk)
    if member.left_on is None:
        return redirect("member-leave", pk=pk)
    said: list[str] = []
    form, done = ask_first(request, lambda: said.append(members.forget(request.visit.by, member_id=pk)))
    if done:
        messages.success(request, _("The name is forgotten. It says “%(code)s” now.") % {"code": said[0]})
        return redirect("members-left")
    return render(request, "web/leaving/forget.html", {"member": member, "form": form})
