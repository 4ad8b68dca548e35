"""What a member is told, when and over which channels: their own page, and a keeper's for who can't sign in."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods

from farm.models import Member
from farm.models.notice import ChannelKind
from farm.queries import reminders as read
from farm.services.channels import web_push
from farm.services.reminders import own_channels, wishes
from farm.web import mail
from farm.web.access import FarmRequest, farm_page
from farm.web.forms import FarmForm
from farm.web.mishaps import shown_in
from farm.web.reminders.forms import EmailChannelForm, ServiceChannelForm, WishesForm

#: The forms of the page, by what they send as `do`.
FORMS = {"wishes": WishesForm, "email": EmailChannelForm, "service": ServiceChannelForm}


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page()
def mine(request: FarmRequest) -> HttpResponse:
    """Show and change one's own reminders."""
    return _page(request, request.visit.member)


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page()
def theirs(request: FarmRequest, pk: int) -> HttpResponse:
    """Show and change the reminders of somebody who can't sign in, for a keeper; one's own are at one's own page."""
    member = own_channels.member_of(request.visit.by, pk)
    if member.pk == request.visit.member.pk:
        return redirect("my-reminders")
    return _page(request, member)


def page_of(request: FarmRequest, member_id: int) -> HttpResponse:
    """Go to the page of a member's reminders."""
    if member_id == request.visit.member.pk:
        return redirect("my-reminders")
    return redirect("member-reminders", pk=member_id)


def _page(request: FarmRequest, member: Member) -> HttpResponse:
    forms = _forms(request, member)
    sent = request.POST.get("do", "") if request.method == "POST" else ""
    form = forms.get(sent)
    if form is not None and form.is_valid():
        with shown_in(form):
            said = _save(request, member, sent, form)
        if form.is_valid():
            messages.success(request, said)
            return page_of(request, member.pk)
    own = member.pk == request.visit.member.pk
    context = {
        "member": member,
        "own": own,
        "channels": read.of_member(member),
        "has_wishes": read.wishes_of(member) is not None,
        "push_key": web_push.public_key() if own else "",
        "mail_stays_here": mail.stays_here(),
        **{f"{name}_form": one for name, one in forms.items()},
    }
    return render(request, "web/reminders/reminders.html", context)


def _forms(request: FarmRequest, member: Member) -> dict[str, FarmForm]:
    """Return the page's forms, the one that was sent with what was typed."""
    farm, sent = request.visit.farm, request.POST.get("do", "") if request.method == "POST" else ""
    stored = read.wishes_of(member)
    first = {"wishes": WishesForm.stored(stored) if stored else wishes.suggested(farm)}
    return {
        name: kind(
            request.POST if sent == name else None,
            farm=farm,
            initial=first.get(name),
            prefix=None if name == "wishes" else name,
        )
        for name, kind in FORMS.items()
    }


def _save(request: FarmRequest, member: Member, sent: str, form: FarmForm) -> str:
    by = request.visit.by
    if isinstance(form, WishesForm):
        wishes.save(by, member_id=member.pk, expected_version=form.seen_version, **form.values())
        return _("Saved.")
    kind = ChannelKind.EMAIL if sent == "email" else ChannelKind.SERVICE
    row = own_channels.add(by, member_id=member.pk, kind=kind, address=form.cleaned_data["address"])
    return _("Added: %(channel)s. Send a test to see whether it arrives.") % {"channel": row}
