"""Webhooks on pages: added, looked at, tried, changed, removed."""

from __future__ import annotations

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.utils.translation import gettext as _
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST

from api.models import Webhook
from api.pages.forms import WebhookChangeForm, WebhookForm
from api.services import webhooks
from farm.models.member import Role
from farm.queries import lookup
from farm.web.access import FarmRequest, farm_page
from farm.web.asking import ask_first
from farm.web.mishaps import shown_in


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def webhooks_page(request: FarmRequest) -> HttpResponse:
    """List the webhooks and add one; its secret is shown in this one answer."""
    sent = request.method == "POST"
    form = WebhookForm(request.POST if sent else None, farm=request.visit.farm)
    if sent and form.is_valid():
        with shown_in(form):
            webhook, secret = webhooks.add(request.visit.by, **form.cleaned_data)
        if form.is_valid():
            return render(request, "api/webhook_made.html", {"webhook": webhook, "secret": secret})
    rows = Webhook.objects.filter(farm=request.visit.farm)
    return render(request, "api/webhooks.html", {"form": form, "rows": rows})


@never_cache
@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def webhook_page(request: FarmRequest, pk: int) -> HttpResponse:
    """Show how one webhook fares, and change it."""
    webhook = lookup.get(Webhook, farm_id=request.visit.farm.pk, pk=pk)
    sent = request.method == "POST"
    begin = {name: getattr(webhook, name) for name in ("label", "active", "nouns", "version")}
    form = WebhookChangeForm(request.POST if sent else None, farm=request.visit.farm, initial=begin)
    if sent and form.is_valid():
        with shown_in(form):
            webhooks.change(
                request.visit.by, webhook_id=pk, expected_version=form.seen_version, **form.wanted()
            )
        if form.is_valid():
            messages.success(request, _("Saved."))
            return redirect("webhook", pk)
    return render(request, "api/webhook.html", {"webhook": webhook, "form": form})


@require_POST
@farm_page(Role.KEEPER)
def webhook_try(request: FarmRequest, pk: int) -> HttpResponse:
    """Send a message that says nothing, and say how it was taken."""
    trouble = webhooks.try_out(request.visit.by, webhook_id=pk, at=request.visit.by.now)
    if trouble:
        messages.error(request, _("The message was not taken: %(trouble)s") % {"trouble": trouble})
    else:
        messages.success(request, _("The message was taken."))
    return redirect("webhook", pk)


@require_http_methods(["GET", "POST"])
@farm_page(Role.KEEPER)
def webhook_remove(request: FarmRequest, pk: int) -> HttpResponse:
    """Ask first, then remove a webhook."""
    webhook = lookup.get(Webhook, farm_id=request.visit.farm.pk, pk=pk)
    form, done = ask_first(request, lambda: webhooks.remove(request.visit.by, webhook_id=pk))
    if done:
        messages.success(request, _("“%(label)s” is removed.") % {"label": webhook.label})
        return redirect("webhooks")
    return render(request, "api/webhook_remove.html", {"webhook": webhook, "form": form})
