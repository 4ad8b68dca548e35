"""Addresses that are told of a farm's changes: added, changed, tried, switched off and on."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Any
from urllib.parse import urlsplit

from django.conf import settings
from django.utils.translation import gettext as _

from api.models import Webhook
from api.webhooks import sending, signing
from farm.errors import BadInput
from farm.models import HistoryEntry
from farm.models.member import Role
from farm.queries import lookup
from farm.services import stale
from farm.services.actor import Actor
from farm.services.channels import addresses, fetching, sealing
from farm.services.writing import write

MOST_WEBHOOKS = 10  # of a farm; project default (judgement)
#: What one can choose to be told about: the nouns of the history.
NOUNS = (
    *("batch", "housing", "machine", "eggset", "intake", "supplier", "order", "orderseries", "feed"),
    *("plan", "rearingprogramme", "member", "ownchore", "observation", "rotarules", "farm", "weather"),
)


def add(by: Actor, *, label: str, address: str, nouns: Sequence[str] = ()) -> tuple[Webhook, str]:
    """Add a webhook and return it with its secret, which is never to be seen again. Raises BadInput by field.

    It is told of what comes from now on.
    """
    _check(address, nouns)
    with write(by, "add webhook", role=Role.KEEPER) as log:
        if Webhook.objects.filter(farm=log.farm).count() >= MOST_WEBHOOKS:
            raise BadInput.at("", _("There are %d webhooks already. Remove one.") % MOST_WEBHOOKS)
        secret = signing.new_secret()
        latest = (
            HistoryEntry.objects.filter(farm=log.farm).order_by("-pk").values_list("pk", flat=True).first()
        )
        webhook = Webhook(
            farm=log.farm,
            label=label.strip(),
            sealed_secret=sealing.seal(secret),
            nouns=list(nouns),
            sent_upto=latest or 0,
            created_at=by.now,
            **_kept(address),
        )
        log.add(webhook)
        log.says(None, _("Webhook “%(label)s” added") % {"label": webhook.label})
    return webhook, secret


def change(by: Actor, *, webhook_id: int, expected_version: int | None, **fields: Any) -> Webhook:
    """Change any of label, address, nouns, active; switched on again, it is told what it missed.

    Raises BadInput, Stale.
    """
    if "address" in fields or "nouns" in fields:
        _check(fields.get("address"), fields.get("nouns", ()))
    with write(by, "change webhook", role=Role.KEEPER) as log:
        webhook = lookup.get(Webhook, farm_id=by.farm_id, pk=webhook_id)
        stale.check(webhook, expected_version)
        fields |= _kept(fields.pop("address")) if "address" in fields else {}
        calm = {"fails": 0, "trouble": "", "try_at": None} if fields.get("active") else {}
        if log.change(webhook, **fields, **calm):
            log.says(None, _("Webhook “%(label)s” changed") % {"label": webhook.label})
    return webhook


def remove(by: Actor, *, webhook_id: int, expected_version: int | None = None) -> None:
    """Remove a webhook."""
    with write(by, "remove webhook", role=Role.KEEPER) as log:
        webhook = lookup.get(Webhook, farm_id=by.farm_id, pk=webhook_id)
        stale.check(webhook, expected_version)
        log.says(None, _("Webhook “%(label)s” removed") % {"label": webhook.label})
        log.remove(webhook)


def try_out(by: Actor, *, webhook_id: int, at: datetime, ask: sending.Ask | None = None) -> str:
    """Send a message that says nothing and return what went wrong, "" when it was taken. Takes seconds."""
    by.require(Role.KEEPER)
    webhook = lookup.get(Webhook, farm_id=by.farm_id, pk=webhook_id)
    message = f"try_{webhook.pk}_{int(at.timestamp())}"
    body = b'{"type": "webhook.try", "data": {}}'
    return sending.deliver(webhook, message, body, at, ask)


def _kept(address: str) -> dict[str, str]:
    """Return the columns of an address: sealed, and what may be shown of it. A path or query may hold a secret."""
    host = urlsplit(address.strip()).netloc
    return {"sealed_address": sealing.seal(address.strip()), "shown_address": f"https://{host}/…"[:200]}


def _check(address: str | None, nouns: Sequence[str]) -> None:
    problems: dict[str, list[object]] = {}
    if address is not None:
        try:
            _parts, host, port = fetching.parts_of(address.strip())
            addresses.check_public(host, port, private=settings.PRIVATE_PUSH)
        except fetching.Unfetched as odd:
            problems["address"] = [_(fetching.WHY[odd.why])]
        except addresses.NotPublic:
            problems["address"] = [_(fetching.WHY["private"])]
        except (OSError, UnicodeError):
            problems["address"] = [_(fetching.WHY["unresolved"])]
    unknown = sorted(set(nouns) - set(NOUNS))
    if unknown:
        problems["nouns"] = [_("Choose from the list.")]
    if problems:
        raise BadInput(problems)
