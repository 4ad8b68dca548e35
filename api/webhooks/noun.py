"""Webhooks over the API."""

from __future__ import annotations

from datetime import datetime
from typing import Annotated, Any

from ninja import Field, Query, Router, Schema
from ninja.responses import Status

from api.core import pages, versions
from api.core.callers import ApiRequest
from api.core.door import needs
from api.core.pages import Page, Paging
from api.core.shapes import Id, In, Text, absent
from api.models import Scope, Webhook
from api.services import webhooks
from farm.models.member import Role
from farm.queries import lookup
from farm.web import clock

router = Router(tags=["Tokens and webhooks"])
Nouns = Annotated[list[Text], Field(max_length=len(webhooks.NOUNS))]


class WebhookOut(Schema):
    """An address that is told of every change. The address itself and the secret are shown nowhere."""

    id: int
    version: int
    label: str
    shown_address: str
    nouns: list[str] = Field(description="What it is told about; empty for everything.")
    active: bool
    fails: int = Field(description="Tries in a row that failed.")
    trouble: str = Field(description="What went wrong last.")
    try_at: datetime | None = Field(description="When it is tried again after a failure.")
    last_sent_at: datetime | None
    created_at: datetime


class MadeWebhook(WebhookOut):
    """A new webhook with its secret, which is shown this once."""

    secret: str = Field(description="Signs every message, after Standard Webhooks 1.0.")


class NewWebhook(In):
    """A webhook to add."""

    label: Text = Field(min_length=1, max_length=60)
    address: Text = Field(max_length=500, description="https, on the public internet.")
    nouns: Nouns = Field(default_factory=list)


class WebhookChange(In):
    """What is to be different."""

    label: Text = absent(min_length=1, max_length=60)
    address: Text = absent(max_length=500)
    nouns: Nouns = absent()
    active: bool = absent()


class Tried(Schema):
    """How a message that says nothing was taken."""

    taken: bool
    trouble: str


@router.get("/", response=Page[WebhookOut])
@needs(Role.KEEPER, Scope.PEOPLE)
def list_webhooks(request: ApiRequest, query: Query[Paging]) -> dict[str, Any]:
    """List the farm's webhooks."""
    return pages.of(Webhook.objects.filter(farm=request.caller.farm), query, shape)


@router.post("/", response={201: MadeWebhook})
@needs(Role.KEEPER, Scope.PEOPLE)
def add_webhook(request: ApiRequest, new: NewWebhook) -> Status:
    """Add a webhook; it is told of what comes from now on. Its secret is in this answer alone."""
    webhook, secret = webhooks.add(request.caller.by, **new.dict())
    request.location = f"{request.path}{webhook.pk}/"
    return Status(201, shape(versions.show(request, webhook)) | {"secret": secret})


@router.get("/{webhook_id}/", response=WebhookOut)
@needs(Role.KEEPER, Scope.PEOPLE)
def get_webhook(request: ApiRequest, webhook_id: Id) -> dict[str, Any]:
    """Return one webhook and how it fares."""
    found = lookup.get(Webhook, farm_id=request.caller.farm.pk, pk=webhook_id)
    return shape(versions.show(request, found))


@router.patch("/{webhook_id}/", response=WebhookOut)
@needs(Role.KEEPER, Scope.PEOPLE, versioned=True)
def change_webhook(request: ApiRequest, webhook_id: Id, change: WebhookChange) -> dict[str, Any]:
    """Change a webhook, or switch it off and on; switched on again, it is told what it missed."""
    version = versions.expected(request)
    found = webhooks.change(
        request.caller.by, webhook_id=webhook_id, expected_version=version, **change.given()
    )
    return shape(versions.show(request, found))


@router.delete("/{webhook_id}/", response={204: None})
@needs(Role.KEEPER, Scope.PEOPLE, versioned=True)
def remove_webhook(request: ApiRequest, webhook_id: Id) -> Status:
    """Remove a webhook."""
    version = versions.expected(request)
    webhooks.remove(request.caller.by, webhook_id=webhook_id, expected_version=version)
    return Status(204, None)


@router.post("/{webhook_id}/try/", response=Tried)
@needs(Role.KEEPER, Scope.PEOPLE, outward=True)
def try_webhook(request: ApiRequest, webhook_id: Id) -> dict[str, Any]:
    """Send a message that says nothing, of type `webhook.try`, and say how it was taken."""
    trouble = webhooks.try_out(request.caller.by, webhook_id=webhook_id, at=clock.now())
    return {"taken": not trouble, "trouble": trouble}


def shape(webhook: Webhook) -> dict[str, Any]:
    """Return a webhook as the API shows it."""
    names = ("id", "version", "label", "shown_address", "nouns", "active", "fails", "trouble", "try_at")
    return {name: getattr(webhook, name) for name in (*names, "last_sent_at", "created_at")}
