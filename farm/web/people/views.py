"""The members of a farm: who is there, with which role, and who may sign in."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_safe

from farm.errors import NotFound
from farm.models import Member
from farm.models.member import Role, all_rounds
from farm.queries import lookup
from farm.queries import members as reads
from farm.services import members
from farm.web import mail
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.mishaps import shown_in
from farm.web.people import letters
from farm.web.people.forms import InviteForm, MemberChangeForm, MemberForm


@require_safe
@farm_page()
def listing(request: FarmRequest) -> HttpResponse:
    """List the farm's members."""
    visit = request.visit
    rows = reads.present(visit.farm.pk, visit.by.now, visit.by.today)
    return render(request, "web/people/members.html", {"rows": rows, "rounds_a_week": len(all_rounds())})


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def add(request: FarmRequest) -> HttpResponse:
    """Add a member without a login; `?role=child` starts the form with what is usual for that role."""
    opening = MemberForm.opening(request.GET.get("role", ""))
    form = MemberForm(
        request.POST if request.method == "POST" else None, initial=opening, farm=request.visit.farm
    )
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            member = members.add(request.visit.by, **form.values())
        if form.is_valid():
            messages.success(
                request,
                _("%(member)s is on the farm. Invite them if they shall sign in.") % {"member": member},
            )
            return redirect("members")
    context = {"form": form, "roles": Role.choices, "role": opening["role"]}
    return render(request, "web/people/member.html", context)


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def change(request: FarmRequest, pk: int) -> HttpResponse:
    """Change what is known of a member."""
    member = _present(request, pk)
    if request.method == "POST":
        form = MemberChangeForm(request.POST, farm=request.visit.farm)
        if form.is_valid():
            with shown_in(form):
                members.change(
                    request.visit.by, member_id=pk, expected_version=form.seen_version, **form.values()
                )
            if form.is_valid():
                messages.success(request, _("Saved."))
                return redirect("members")
    else:
        form = MemberChangeForm(initial=MemberChangeForm.stored(member), farm=request.visit.farm)
    return render(request, "web/people/member.html", {"form": form, "member": member})


@require_http_methods(["GET", "POST"])
@farm_page(Role.HELPER)
def leave(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then take a member off the farm: a keeper anybody, a helper themselves."""
    if pk != request.visit.member.pk:
        request.visit.by.require(Role.KEEPER)
    member = _present(request, pk)
    form, done = ask_first(request, lambda: members.leave(request.visit.by, member_id=pk))
    if done:
        messages.success(request, _("%(member)s left the farm.") % {"member": member})
        return redirect("today" if pk == request.visit.member.pk else "members")
    return render(request, "web/people/leave.html", {"member": member, "form": form})


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def invite(request: FarmRequest, pk: int) -> HttpResponse:
    """Make an invitation and show its link, this once."""
    member = _present(request, pk)
    form = InviteForm(request.POST if request.method == "POST" else None, farm=request.visit.farm)
    if request.method == "POST" and form.is_valid():
        with shown_in(form):
            secret = members.invite(request.visit.by, member_id=pk, **form.values())
        if form.is_valid():
            return _shown_once(request, member, secret, form.cleaned_data["email"])
    return render(request, "web/people/invite.html", {"member": member, "form": form})


def _shown_once(request: FarmRequest, member: Member, secret: str, email: str) -> HttpResponse:
    # The secret is in this one answer and nowhere else, so there is no redirect.
    address = letters.address(secret)
    sent = letters.send(request.visit.member, member, address, email) if email else None
    context = {
        "member": member,
        "address": address,
        "email": email,
        "sent": sent,
        "mail_stays_here": mail.stays_here(),
        "days": members.INVITATION_DAYS,
    }
    return render(request, "web/people/invited.html", context)


def _present(request: FarmRequest, pk: int) -> Member:
    member = lookup.get(Member, farm_id=request.visit.farm.pk, pk=pk)
    if member.left_on is not None:
        raise NotFound(_("This member has left the farm."))
    return member
